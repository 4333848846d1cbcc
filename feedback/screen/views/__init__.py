"""Views of the smaller screens, a file each; what answers to keys stands in `feedback.screen.screens`."""
