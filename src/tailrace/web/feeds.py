"""What programs ask for: the calendar of due checks, and sensors that send measurements."""

from __future__ import annotations

from dataclasses import asdict
from datetime import UTC, datetime
from typing import Annotated

from fastapi import APIRouter, Header, Request, Response
from fastapi.responses import JSONResponse
from starlette.exceptions import HTTPException

from tailrace.operations.accounts import whose
from tailrace.operations.calendar import round_calendar
from tailrace.operations.sensor_messages import take_senml
from tailrace.records.accounts import KeyKind
from tailrace.web.who import Writer, accounts_of, now

router = APIRouter()


@router.get("/calendar/{secret}/{site}.ics")
def _calendar(request: Request, secret: str, site: str) -> Response:
    """Answer with the due checks of a site, to whoever holds the key of a calendar."""
    rights = whose(accounts_of(request), secret, KeyKind.CALENDAR, at=now(request))
    if rights is None or not rights.may_read(site):
        raise HTTPException(404)
    made = round_calendar(request.app.state.store, site)
    return Response(made, media_type="text/calendar; charset=utf-8")


@router.post("/api/v1/s/{site}/sensors")
async def _sensors(
    request: Request,
    site: str,
    _who: Writer,
    idempotency_key: Annotated[str, Header(max_length=100)] = "",
) -> Response:
    """Take in a list of measurements, SenML in JSON or CBOR; the same key is stored once."""
    payload = await request.body()
    taken = take_senml(
        request.app.state.store, site, payload, now=datetime.now(UTC), key=idempotency_key
    )
    return JSONResponse(asdict(taken))
