import streamlit as st

from planner.screen.files_part import files_part
from planner.screen.proof_part import wait_for_better
from planner.screen.state import plan_answer
from planner.screen.table_part import table_part

answer = plan_answer()
wait_for_better(answer, "files are made of the panels that it finds")
if answer is not None:
    left, right = st.columns([1, 1], gap="large")
    with left:
        files_part(answer.plan.request)
    with right:
        table_part(answer.plan)
