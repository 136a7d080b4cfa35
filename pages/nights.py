import streamlit as st

from planner.screen.nights_part import nights_part
from planner.screen.proof_part import wait_for_better
from planner.screen.season_inputs import filters_part, season_part
from planner.screen.state import plan_answer, session

answer = plan_answer()
wait_for_better(answer, "arrange the nights again when it is done")
left, right = st.columns([2, 5], gap="large")
with left:
    finish = st.container()
    season = season_part(session().request)
with right:
    filters_part()
    if answer is not None:
        nights_part(answer.plan, finish, season)
