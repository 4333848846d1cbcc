"""The neck with a chord on it. Begin with `feedback.screen.neck.picture`."""
