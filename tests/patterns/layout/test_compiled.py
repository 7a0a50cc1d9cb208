"""Code compiled of a source that is gone does not stay on disk for ever."""

import os
import time
from types import SimpleNamespace

from patterns.layout.relax import compiled

DAY_S = 24 * 3600


def test_only_what_was_compiled_of_other_sources_long_ago_is_removed(tmp_path, monkeypatch):
    days_ago = {"0123456789ab": 31, "aaaaaaaaaaaa": 29, "bbbbbbbbbbbb": 400, "kept by hand": 400}
    for name, days in days_ago.items():
        folder = tmp_path / name
        folder.mkdir()
        (folder / "look.nbi").write_bytes(b"compiled")
        then = time.time() - days * DAY_S
        os.utime(folder, (then, then))
    own = tmp_path / "bbbbbbbbbbbb"
    monkeypatch.setattr(compiled, "_settings", SimpleNamespace(CACHE_DIR=str(own)))
    compiled.remove_outdated()
    assert {path.name for path in tmp_path.iterdir()} == days_ago.keys() - {"0123456789ab"}


def test_without_a_folder_for_it_nothing_is_looked_for(monkeypatch):
    monkeypatch.setattr(compiled, "_settings", SimpleNamespace(CACHE_DIR=""))
    compiled.remove_outdated()
