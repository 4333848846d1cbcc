"""Tab that stands still. Begin with `feedback.screen.still.tab`."""
