"""The command line: thin shells over `tailrace.operations` that speak to people.

A fault of input or of the record ends with one plain sentence on stderr and exit code 1.
"""

from __future__ import annotations

import sys

from tailrace.errors import TailraceError


def main() -> None:
    """Run the command line."""
    import tailrace.cli.cause  # noqa: PLC0415  # adds its command
    import tailrace.cli.export  # noqa: PLC0415  # adds its commands
    import tailrace.cli.people  # noqa: PLC0415  # adds its commands
    import tailrace.cli.record  # noqa: PLC0415  # adds its commands
    import tailrace.cli.sensors  # noqa: F401, PLC0415  # adds its commands
    from tailrace.cli.commands import app  # noqa: PLC0415  # so that --version stays quick

    try:
        app(prog_name="tailrace")
    except TailraceError as error:
        sys.stderr.write(f"tailrace: {error}\n")
        sys.exit(1)
    except KeyboardInterrupt:
        sys.stderr.write(
            "tailrace: stopped; what was stored before stays, nothing is half done.\n"
        )
        sys.exit(130)
    except BrokenPipeError:
        sys.exit(1)
