"""Before numpy loads: one thread for its algebra, as the tests share the cores among them already."""

from __future__ import annotations

from feedback.onethread import one_thread

one_thread()
