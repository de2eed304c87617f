"""Our own style sheet and mark, under an address that changes when they do."""

from __future__ import annotations

import hashlib
from functools import cache
from importlib.resources import files

from fastapi import APIRouter, Response
from starlette.exceptions import HTTPException

TYPES = {"tailrace.css": "text/css", "mark.svg": "image/svg+xml"}
router = APIRouter()


@cache
def assets() -> dict[str, bytes]:
    """Return every asset.

    Returns
    -------
    dict
        Name to content.
    """
    folder = files("tailrace.web").joinpath("static")
    return {name: folder.joinpath(name).read_bytes() for name in TYPES}


@cache
def digest() -> str:
    """Return what the address of every asset carries.

    Returns
    -------
    str
        Twelve hexadecimal digits that change with any asset.
    """
    whole = hashlib.sha256()
    for name, content in assets().items():
        whole.update(name.encode() + content)
    return whole.hexdigest()[:12]


def asset_address(name: str) -> str:
    """Return the address of an asset.

    Parameters
    ----------
    name
        Name of its file.

    Returns
    -------
    str
        Address on this server.
    """
    return f"/assets/{digest()}/{name}"


@router.get("/assets/{version}/{name}")
def _asset(version: str, name: str) -> Response:
    """Answer with an asset; it may be kept for ever under its address."""
    if version != digest() or name not in TYPES:
        raise HTTPException(404)
    kept = {"Cache-Control": "public, max-age=31536000, immutable"}
    return Response(assets()[name], media_type=TYPES[name], headers=kept)
