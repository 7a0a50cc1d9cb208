"""Several output files are written all or none."""

import pytest

from workshop.management.file_command import FileCommand, InputError


def test_all_files_are_written(tmp_path):
    first, second = tmp_path / "a.json", tmp_path / "b.svg"
    FileCommand().write_files([(str(first), {"x": 1.5}), (str(second), b"<svg/>")])
    assert first.read_bytes() == b'{"x": 1.5}\n'
    assert second.read_bytes() == b"<svg/>"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.json", "b.svg"]


@pytest.mark.parametrize("faulty", ["missing/b.svg", "folder"])
def test_none_is_written_when_one_cannot_be(tmp_path, faulty):
    (tmp_path / "folder").mkdir()
    first = tmp_path / "a.json"
    with pytest.raises(InputError, match="cannot be written"):
        FileCommand().write_files([(str(first), {}), (str(tmp_path / faulty), b"")])
    assert [path.name for path in tmp_path.iterdir()] == ["folder"]
