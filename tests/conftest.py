"""Before numpy loads: one thread for its algebra, as the tests share the cores among them already.

And no test is heard, nor waits for a loudspeaker, unless it turns `heard` on itself.
"""

from __future__ import annotations

import os
from dataclasses import replace

from feedback.onethread import one_thread

one_thread()

from feedback.setting_rows import SETTINGS  # noqa: E402
from feedback.settings import variable  # noqa: E402

os.environ[variable("heard")] = "off"
SETTINGS["heard"] = replace(SETTINGS["heard"], default="off")
