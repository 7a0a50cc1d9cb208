"""The child that reads files, started once and split off for each: bound just as the real one.

``test_uploads`` starts the real child; to start it for each of hundreds of files would be slow.
"""

import json
import os
import struct
import subprocess
import sys
from types import SimpleNamespace

FRAME = struct.Struct("<I")


class ReaderServer:
    """Answers in the place of ``subprocess.run``, and keeps what each child came to."""

    def __init__(self, environment):
        self._server = subprocess.Popen(
            [sys.executable, "-m", "tests.workshop.reader_server"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            env=environment,
        )
        self.most_kb = 0
        self.statuses = []

    def run(self, command, *, input, **_options):
        """Have a child read the bytes as the command says; its memory and its end are kept."""
        for part in (json.dumps(command[3:]).encode(), input):
            self._server.stdin.write(FRAME.pack(len(part)) + part)
        self._server.stdin.flush()
        said = _read_frame(self._server.stdout)
        ended = json.loads(_read_frame(self._server.stdout))
        self.most_kb = max(self.most_kb, ended["most_kb"])
        self.statuses.append(ended["status"])
        return SimpleNamespace(returncode=ended["status"], stdout=said)

    def close(self):
        """End the server."""
        self._server.stdin.close()
        self._server.wait(30)


def _read_frame(stream):
    (size,) = FRAME.unpack(stream.read(FRAME.size))
    return stream.read(size)


def serve():
    """Split a child off for each file until there are no more."""
    # Loaded once, as each real child loads what it needs.
    from workshop import (  # noqa: F401
        mesh_upload,
        outline_upload,
        photo_upload,
        tracing_file,
        upload_reader,
    )

    while head := sys.stdin.buffer.read(FRAME.size):
        arguments = json.loads(sys.stdin.buffer.read(FRAME.unpack(head)[0]))
        data = _read_frame(sys.stdin.buffer)
        reader, writer = os.pipe()
        child = os.fork()
        if not child:
            os.close(reader)
            _be_child(upload_reader, arguments, data, writer)
        os.close(writer)
        with os.fdopen(reader, "rb") as stream:
            said = stream.read()
        _pid, status, used = os.wait4(child, 0)
        ended = {"status": os.waitstatus_to_exitcode(status), "most_kb": used.ru_maxrss}
        for part in (said, json.dumps(ended).encode()):
            sys.stdout.buffer.write(FRAME.pack(len(part)) + part)
        sys.stdout.buffer.flush()


def _be_child(upload_reader, arguments, data, writer):
    status = 1
    try:
        upload_reader.bind_process()
        options = json.loads(arguments[1]) if len(arguments) > 1 else {}
        answer = json.dumps(upload_reader.answer_of(arguments[0], data, options)).encode()
        while answer:
            answer = answer[os.write(writer, answer) :]
        status = 0
    finally:
        os._exit(status)


if __name__ == "__main__":
    serve()
