from planner.screen.targets.targets_part import targets_part

targets_part()
