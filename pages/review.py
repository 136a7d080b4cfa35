from planner.screen.proof_part import wait_for_better
from planner.screen.review_part import review_part
from planner.screen.state import plan_answer

answer = plan_answer()
wait_for_better(answer, "a review made now is of the panels that stand now")
if answer is not None:
    review_part(answer.plan)
