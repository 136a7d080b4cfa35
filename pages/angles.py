import streamlit as st

from planner.screen.frames_part import frames_part, given_frames
from planner.screen.proof_part import wait_for_better
from planner.screen.readings_part import calibration_part, instruction_part, readings_part, report_of
from planner.screen.state import plan_answer

answer = plan_answer()
wait_for_better(answer, "wait with setting the scale until it is done")
if answer is not None:
    left, right = st.columns([5, 4], gap="large")
    with right:
        frames_part(answer.plan)
    camera_angle = report_of(answer.plan, given_frames())
    if camera_angle is not None:
        with left:
            instruction_part(camera_angle)
            readings_part(camera_angle)
        with right:
            calibration_part(camera_angle)
