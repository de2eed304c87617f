"""Tailrace: what to do today on a recirculated loop behind a self-washing bead filter.

The layers, from the ground up, are listed in ``docs/decisions/0002-layers.md``; open
``tailrace.operations`` to see what a person can ask for.
"""

from importlib.metadata import version

__version__ = version("tailrace")
