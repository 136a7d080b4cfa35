import streamlit as st

from planner.screen import compose_parts as parts
from planner.screen.angle_part import angle_part
from planner.screen.find_part import find_part
from planner.screen.proof_part import proof_part, wait_for_better
from planner.screen.sky import show_sky
from planner.screen.state import plan_answer, session, show_fault

answer = plan_answer()
plan = answer.plan if answer else st.session_state.get("seen_plan")
with st.container(horizontal=True, key="compose"):
    with st.container(key="compose_sky", width="stretch"):
        show_fault("canvas")
        if plan is not None:
            show_sky(plan)
    with st.container(key="compose_side", width=350):
        proof_part(answer)
        find_part(plan)
        region, panels, angle, camera, printed = st.tabs(["Region", "Panels", "Angle", "Camera", "Print"])
        request = session().request
        with region:
            parts.region_part(request, answer.plan if answer else None)
        with panels:
            parts.panels_part(request)
        with angle:
            angle_part(request, answer.plan if answer else None)
        with camera:
            parts.camera_part(request)
        with printed:
            parts.print_part(request, answer.plan if answer else None)
wait_for_better(answer)
