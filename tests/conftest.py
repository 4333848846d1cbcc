"""Before numpy loads: one thread for its algebra, as the tests share the cores among them already.

Some thousand collected tests are looked through by each full collection of garbage, and none of them is any:
they are set aside once they are there, and garbage is looked for less often.

Properties that ask for no number of examples are tried on half as many as is usual: the suite has five
minutes. And no test is heard, nor waits for a loudspeaker, unless it turns `heard` on itself; none finds or
leaves anything in the user's own folder.
"""

from __future__ import annotations

import atexit
import gc
import os
import shutil
import tempfile
from collections.abc import Iterator
from dataclasses import replace

from feedback.onethread import one_thread

one_thread()

import pytest  # noqa: E402
from hypothesis import settings  # noqa: E402

settings.register_profile("suite", max_examples=50)
settings.load_profile("suite")

from feedback.setting_rows import SETTINGS  # noqa: E402
from feedback.settings import variable  # noqa: E402

_home = tempfile.mkdtemp(prefix="sevenfall-tests-")
atexit.register(shutil.rmtree, _home, ignore_errors=True)
os.environ["SEVENFALL_HOME"] = _home
os.environ[variable("heard")] = "off"
SETTINGS["heard"] = replace(SETTINGS["heard"], default="off")


def pytest_collection_finish() -> None:
    """All tests are there: see above."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(20_000, 20, 20)


@pytest.fixture(scope="module")
def ears_remember() -> Iterator[None]:
    """For a module whose tests play or read the very same sounds: see `tests.ears`."""
    from tests.ears import remember

    with pytest.MonkeyPatch.context() as monkeypatch:
        remember(monkeypatch)
        yield
