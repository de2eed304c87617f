"""`tailrace serve`: the pages, for browsers on this machine or, when asked, on its network."""

from __future__ import annotations

import socket
from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Annotated

import typer

from tailrace.errors import InputError
from tailrace.operations.accounts import first_key
from tailrace.operations.keeping import daily_backups
from tailrace.operations.record import moment, open_record, site_reading
from tailrace.records.accounts import Accounts

HOST = "127.0.0.1"
HOSTS = (HOST, "localhost")
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
    lan: Annotated[
        bool, typer.Option("--lan", help="Let other machines of this network in, by account.")
    ] = False,
) -> None:
    """Show the pages in a browser; with an account, the log is written there too."""
    store = open_record(home)
    names = store.site_names()
    if not names:
        raise InputError(f"the record in {store.home} holds no site; load a site first.")
    moment(at, site_reading(store, names[0]).site)  # a wrong moment is told now, not on each page
    accounts = Accounts(store)
    if lan and not accounts.all():
        message = (
            "--lan needs an owner's account first. Start 'tailrace serve' without it, make the "
            "account at the address it prints, then start again with --lan."
        )
        raise InputError(message)
    listening = listen(port, host="0.0.0.0" if lan else HOST)  # asked for
    import uvicorn  # noqa: PLC0415  # only this command needs a server

    from tailrace.web.app import create_app  # noqa: PLC0415

    names_here = own_names() if lan else HOSTS
    app = create_app(store, at=at, hosts=names_here, lan=lan)
    _say_where(accounts, names_here, listening.getsockname()[1], lan=lan)
    server = uvicorn.Server(uvicorn.Config(app, log_level="warning", access_log=False))
    with daily_backups(store):
        server.run(sockets=[listening])


def _say_where(accounts: Accounts, names: Sequence[str], port: int, *, lan: bool) -> None:
    base = f"http://{HOST}:{port}/"
    if lan:
        for name in names:
            typer.echo(f"Pages at http://{name}:{port}/")
        typer.echo("Others on this network could read what is typed there, passwords too.")
    else:
        typer.echo(f"Pages at {base} for this machine only.")
    if not accounts.all():
        secret = first_key(accounts, at=datetime.now(UTC))
        typer.echo("They only read until there is an account. Make the owner's, once, at")
        typer.echo(f"  {base}first/{secret}")
    typer.echo("Stop with Ctrl-C.")


def own_names() -> tuple[str, ...]:
    """Return the names and addresses by which a browser may reach this machine.

    Returns
    -------
    tuple of str
        Loopback first, then the host's name and the addresses it resolves to.
    """
    name = socket.gethostname()
    try:
        found = {str(each[4][0]) for each in socket.getaddrinfo(name, None, socket.AF_INET)}
    except OSError:
        found = set()
    return tuple(dict.fromkeys([*HOSTS, name.lower(), *sorted(found)]))


def listen(port: int, *, host: str = HOST) -> socket.socket:
    """Take a port of this machine.

    Parameters
    ----------
    port
        Port; 0 for any free one.
    host
        Address to listen at.

    Returns
    -------
    socket.socket
        Bound to that address.

    Raises
    ------
    InputError
        The port is taken, or may not be used.
    """
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((host, port))
        listening.listen()
    except OSError as error:
        listening.close()
        message = (
            f"port {port} of this machine cannot be used: another program has it, or it is "
            "reserved. Stop that program, or choose another port with --port (0: any free one)."
        )
        raise InputError(message) from error
    return listening
