"""Labels of quantities as people read them."""

from __future__ import annotations

from tailrace.quantities import subjects

_OWN = {"un_ionised_ammonia": "toxic part of ammonia (as N)"}


def label_of(subject: str) -> str:
    """Return the words for a quantity.

    Parameters
    ----------
    subject
        Key of the subject.

    Returns
    -------
    str
        Label.

    Examples
    --------
    >>> label_of("un_ionised_ammonia"), label_of("ph")
    ('toxic part of ammonia (as N)', 'pH')
    """
    return _OWN.get(subject, subjects()[subject].label)
