"""The app: one plan in the session, six pages about it. Started by `python -m planner app [PLAN]`.

`pages/` holds the pages (each parses, calls one core function, shows), `planner/screen/` what they share,
`planner/session/` the plan being composed, `planner/screen/canvas/` the sky.
"""

import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
if str(ROOT) not in sys.path:  # Streamlit puts the folder of this file there, not its parent
    sys.path.insert(0, str(ROOT))

import streamlit as st  # noqa: E402

from planner.screen.bar import show_bar, show_pages  # noqa: E402
from planner.screen.behaviour.behave import behave  # noqa: E402
from planner.screen.inputs.mirror import begin_inputs, end_inputs  # noqa: E402
from planner.screen.inputs.typed import remember_typed  # noqa: E402
from planner.screen.looks import show_looks  # noqa: E402
from planner.screen.state import begin, leave_made, mended, session  # noqa: E402

st.set_page_config(page_title="Mosaic planner", layout="wide", initial_sidebar_state="collapsed")
begin_inputs()
begin(st.session_state, sys.argv[1:])
revision = session().revision
PAGES = [
    st.Page("../pages/compose.py", title="Compose", default=True),
    st.Page("../pages/targets.py", title="Targets"),
    st.Page("../pages/angles.py", title="Angles"),
    st.Page("../pages/nights.py", title="Nights"),
    st.Page("../pages/hand_over.py", title="Hand over", url_path="hand-over"),
    st.Page("../pages/review.py", title="Review"),
]
page = st.navigation(PAGES, position="top")
show_looks()
with mended():
    show_pages(PAGES)
    show_bar(page.title)
    page.run()
    remember_typed(page.url_path)
    behave(revision)
end_inputs()
leave_made()
