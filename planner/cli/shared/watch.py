"""`review --watch` of a mosaic that several instruments share."""

from __future__ import annotations

from planner.answers.shared.shared_plan import SharedPlan, make_shared_plan
from planner.cli._show import progress_shown, say
from planner.cli.review_options import ReviewOptions
from planner.cli.watching.follow import Following, run_watch
from planner.draw.pictures.review_pictures import shared_review_pictures
from planner.exit_codes import DONE
from planner.frames.review.review import Review
from planner.progress import Progress
from planner.request.shared import SharedRequest
from planner.watch.followed_plan import FollowedShared
from planner.watch.shared_watch import SharedFolderWatch

__all__ = ["watch_shared"]


def watch_shared(asked: ReviewOptions, request: SharedRequest) -> int:
    """Follow the folder of all instruments; Ctrl-C is how a watch ends, so it is no failure."""
    try:
        with progress_shown() as progress:
            shared = make_shared_plan(request, effort=asked.effort, progress=progress)
        files = ["review.json", "depth.png", *(f"{name}/drift.png" for name in shared.folders)]
        source = FollowedShared(request)
        run_watch(
            asked, files, lambda out, *parts: SharedFollowing(asked, out, *parts, source=source), shared
        )
    except KeyboardInterrupt:
        say("stopped")
    return DONE


class SharedFollowing(Following[SharedRequest, SharedPlan]):
    """A watch of the frames of several instruments."""

    watch: SharedFolderWatch

    def new_watch(self, plan: SharedPlan) -> SharedFolderWatch:
        """Return what follows the folder by the plans of all."""
        self.note_changed(*plan.wholes)
        return SharedFolderWatch(
            plan, self.asked.folder, each=plan.each(self.asked.limits), reader=self.reader(plan), index=self.index
        )

    def renew(self, request: SharedRequest, progress: Progress) -> int:
        """Have all frames judged by the plans of a request from now on; returns their number of panels."""
        shared = make_shared_plan(request, effort=self.asked.effort, progress=progress)
        self.note_changed(*shared.wholes)
        self.watch.take_shared(shared, shared.each(self.asked.limits), self.reader(shared))
        return sum(len(one.panels) for one in shared.instruments)

    def pictures(self, review: Review) -> dict[str, bytes]:
        """Return the pictures of a review, by name."""
        return shared_review_pictures(self.watch.shared, review, self.watch.drifts or {}, self.watch.each)
