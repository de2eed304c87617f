"""Which kit, meter or probe that a person described a method names."""

from __future__ import annotations

from collections.abc import Iterable

from tailrace.observations import Instrument


def kit_of(method: str, subject: str, kits: Iterable[Instrument]) -> Instrument | None:
    """Return the kit that a method names.

    Parameters
    ----------
    method
        Method as typed.
    subject
        Key of the subject that was read.
    kits
        Kits, meters and probes of the site; one name may stand for several subjects.

    Returns
    -------
    Instrument or None
        The one of that name, the one for the subject first; None when no name is the same.

    Examples
    --------
    >>> kit_of("The blue box", "ph", [Instrument("the blue box", "colour chart")]).kind
    'colour chart'
    """
    plain = _plain(method)
    named = [kit for kit in kits if plain and _plain(kit.name) == plain]
    fitting = [kit for kit in named if kit.subject in {"", subject}]
    return max(fitting, key=lambda kit: bool(kit.subject), default=None)


def _plain(text: str) -> str:
    return " ".join(text.casefold().split())
