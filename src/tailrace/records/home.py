"""Where the record lives: an option, else the environment, else the user's data folder."""

from __future__ import annotations

import os
from pathlib import Path

import platformdirs

VARIABLE = "TAILRACE_HOME"


def home_folder(option: str | None = None) -> Path:
    """Return the folder of the record.

    Parameters
    ----------
    option
        The folder named by ``--home``; None or empty when it was not given.

    Returns
    -------
    pathlib.Path
        The option, else the environment variable ``TAILRACE_HOME``, else the data folder that
        the operating system gives to this user. It need not exist yet.

    Examples
    --------
    >>> str(home_folder("/srv/record"))
    '/srv/record'
    """
    named = option or os.environ.get(VARIABLE, "")
    if named:
        return Path(named).expanduser()
    return Path(platformdirs.user_data_dir("tailrace", appauthor=False))
