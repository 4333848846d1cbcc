"""The lane: what is seen while a turn runs. Begin with `feedback.screen.lane.picture`."""
