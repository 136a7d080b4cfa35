"""How the canvas asks for the answer to a gesture by itself; the page follows once it has been drawn.

A run of the page makes the browser redraw all that stands on it; this way brings panels alone.
"""

from __future__ import annotations

import json
import logging
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from planner.session.tab import LIVE

__all__ = ["PATH", "canvas_route"]

PATH = "/canvas"
MOST_BYTES = 2_000_000


async def canvas_route(request: Request) -> Response:
    """Answer a message of the canvas: JSON with the session's id and gestures, or where the hand rests.

    Whoever does not know the id of a session that is open gets nothing; nor does a page of another host,
    which cannot send JSON here unasked.
    """
    if not request.headers.get("content-type", "").startswith("application/json"):
        return Response(status_code=415)
    body = b""
    async for piece in request.stream():
        body += piece
        if len(body) > MOST_BYTES:
            return Response(status_code=413)
    try:
        sent = json.loads(body)
    except ValueError:
        return Response(status_code=400)
    try:
        return await run_in_threadpool(_answer, sent)
    except Exception:
        logging.getLogger("planner").exception("a message of the canvas broke")
        return Response(status_code=500)


def _answer(sent: Any) -> Response:
    tab = LIVE.get(sent.get("sid", "")) if isinstance(sent, dict) else None
    if tab is None:
        return Response(status_code=404)
    if "find" in sent:
        return JSONResponse(tab.suggestions(str(sent["find"])))
    if "rest" in sent:
        tab.foresee(sent["rest"])
        return Response(status_code=204)
    tab.take(sent["messages"])
    return JSONResponse(tab.sky())
