"""`tailrace serve`: the pages, for browsers on this machine only."""

from __future__ import annotations

import socket
from typing import Annotated

import typer

from tailrace.errors import InputError
from tailrace.operations.record import moment, open_record, site_reading

HOST = "127.0.0.1"
PORT = 8640


def serve(
    home: Annotated[
        str | None,
        typer.Option(
            "--home", help="Folder of the record; else TAILRACE_HOME, else your data folder."
        ),
    ] = None,
    port: Annotated[
        int, typer.Option("--port", min=0, max=65535, help="Port; 0 takes any free one.")
    ] = PORT,
    at: Annotated[
        str | None,
        typer.Option("--at", help="Answer as of this moment where a page asks for none."),
    ] = None,
) -> None:
    """Show round, water and filter in a browser on this machine; nothing is written."""
    store = open_record(home)
    names = store.site_names()
    if not names:
        raise InputError(f"the record in {store.home} holds no site; load a site first.")
    moment(at, site_reading(store, names[0]).site)  # a wrong moment is told now, not on each page
    listening = listen(port)
    import uvicorn  # noqa: PLC0415  # only this command needs a server

    from tailrace.web.app import create_app  # noqa: PLC0415

    app = create_app(store, at=at)
    typer.echo(f"Pages at http://{HOST}:{listening.getsockname()[1]}/ for this machine only.")
    typer.echo("They read and never write. Stop with Ctrl-C.")
    server = uvicorn.Server(uvicorn.Config(app, log_level="warning", access_log=False))
    server.run(sockets=[listening])


def listen(port: int) -> socket.socket:
    """Take a port of this machine.

    Parameters
    ----------
    port
        Port; 0 for any free one.

    Returns
    -------
    socket.socket
        Bound to the loopback address.

    Raises
    ------
    InputError
        The port is taken, or may not be used.
    """
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((HOST, port))
        listening.listen()
    except OSError as error:
        listening.close()
        message = (
            f"port {port} of this machine cannot be used: another program has it, or it is "
            "reserved. Stop that program, or choose another port with --port (0: any free one)."
        )
        raise InputError(message) from error
    return listening
