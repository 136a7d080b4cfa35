import streamlit as st

from planner.screen import compose_parts as parts
from planner.screen.angle_part import angle_part
from planner.screen.canvas.sky import sky_part
from planner.screen.find_part import find_part
from planner.screen.proof_part import proof_part, wait_for_better, wait_for_others
from planner.screen.state import in_place, plan_answer, session
from planner.screen.tabs import open_parts

with st.container(horizontal=True, key="compose"):
    with st.container(key="compose_sky", width="stretch"):
        sky_part()
    with st.container(key="compose_side", width=350):
        answer = plan_answer()
        plan = answer.plan if answer else None
        with in_place():
            proof_part(answer)
        wait_for_better(answer)
        wait_for_others(answer)
        find_part(plan)
        request = session().request
        open_parts(
            "side",
            {
                "Region": lambda: parts.region_part(request, plan),
                "Panels": lambda: parts.panels_part(request),
                "Angle": lambda: angle_part(request, answer),
                "Camera": lambda: parts.camera_part(request),
                "Print": lambda: parts.print_part(request, plan),
            },
        )
