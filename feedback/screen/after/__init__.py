"""What is seen after a turn. Begin with `feedback.screen.after.picture`."""
