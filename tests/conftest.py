"""Before numpy loads: one thread for its algebra, as the tests share the cores among them already.

Properties that ask for no number of examples are tried on half as many as is usual: the suite has five
minutes. And no test is heard, nor waits for a loudspeaker, unless it turns `heard` on itself.
"""

from __future__ import annotations

import os
from dataclasses import replace

from feedback.onethread import one_thread

one_thread()

from hypothesis import settings  # noqa: E402

settings.register_profile("suite", max_examples=50)
settings.load_profile("suite")

from feedback.setting_rows import SETTINGS  # noqa: E402
from feedback.settings import variable  # noqa: E402

os.environ[variable("heard")] = "off"
SETTINGS["heard"] = replace(SETTINGS["heard"], default="off")
