"""What is no file in a folder of knowledge is refused at once; a pipe was waited for, a device read for ever."""

import os
import signal
from pathlib import Path

import pytest

from diagnose.errors import KnowledgeError
from diagnose.kb import files
from diagnose.kb.files import read_files
from tests.faults.test_crash_points import forked


@pytest.mark.parametrize("odd", ["pipe", "device", "large"])
def test_what_is_no_plain_file_is_refused_at_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, odd: str) -> None:
    path = tmp_path / "x.yaml"
    if odd == "pipe":
        os.mkfifo(path)
    elif odd == "device":
        path.symlink_to("/dev/zero")
    else:
        monkeypatch.setattr(files, "MAX_BYTES", 10)
        path.write_text("a: b\n" * 10, "utf-8")

    def work() -> None:
        signal.alarm(20)
        with pytest.raises(KnowledgeError, match=r"x\.yaml is no plain file"):
            read_files(tmp_path)

    assert forked(work) == 0
