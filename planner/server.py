"""The app as a server: the pages that `app.py` makes, and the route by which the canvas asks."""

import asyncio
import sys
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

HERE = Path(__file__).resolve().parent
if str(HERE.parent) not in sys.path:  # Streamlit puts the folder of this file there, not its parent
    sys.path.insert(0, str(HERE.parent))

from starlette.middleware import Middleware  # noqa: E402
from starlette.routing import Route  # noqa: E402
from streamlit.starlette import App  # noqa: E402

from planner.screen.canvas.route import PATH, canvas_route  # noqa: E402
from planner.screen.state import on_defect  # noqa: E402
from planner.session.access import ACCESS, Door  # noqa: E402
from planner.session.tab import forget_closed  # noqa: E402
from planner.session.uploads import forget_all_uploads  # noqa: E402

LOOK_EVERY_S, CLOSED_FOR_S = 30.0, 180.0
"""A tab that was closed comes back within two minutes, if at all: so long the framework keeps its session."""


@asynccontextmanager
async def _life(_: Any) -> AsyncIterator[dict[str, Any]]:
    """Leave no upload behind, of a tab that was closed or of the server when it stops."""
    keeper = asyncio.create_task(_look_after_uploads())
    yield {}
    keeper.cancel()
    forget_all_uploads()


async def _look_after_uploads() -> None:
    while True:
        await asyncio.sleep(LOOK_EVERY_S)
        await asyncio.to_thread(forget_closed, CLOSED_FOR_S)


app = App(
    HERE / "app.py",
    routes=[Route(PATH, canvas_route, methods=["POST"])],
    middleware=[Middleware(Door, access=ACCESS)],
    lifespan=_life,
    on_script_error=on_defect,
)
