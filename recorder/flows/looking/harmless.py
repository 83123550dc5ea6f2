"""The pictures of a job for its pages: those that came from a page of the session drawn anew."""

from __future__ import annotations

import hashlib
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from recorder.archive.jobs.folder import JobFolder
from recorder.errors import BadJobFolder, InputRefused
from recorder.flows.looking import looking
from recorder.model.job import Job
from recorder.report.content.pictures import Media
from recorder.report.wording.wording import noted

_LONGEST_PX = 2400  # more than a page prints of any picture


@contextmanager
def pictures(job: Job, folder: JobFolder) -> Iterator[Media]:
    """Where the report finds the files of its pictures, inside.

    Files that a technician gave by hand are opened as they are. An original of a live session may
    come from anybody who held the device, so a looker opens it, and the page gets its pixels.
    """
    if not job.recordings:
        yield folder.path
        return
    names = {media.path: media.name for media in job.media}
    with tempfile.TemporaryDirectory() as passing:

        def resolve(relative: str) -> Path:
            try:
                path = folder.path_of(relative)
                if relative not in names or not path.is_file():
                    return path
                drawn = looking.redraw(path, names[relative], _LONGEST_PX)
            except (InputRefused, BadJobFolder) as error:
                raise ValueError(noted("its file is damaged")) from error
            target = Path(passing) / f"{hashlib.sha256(relative.encode()).hexdigest()}.jpg"
            target.write_bytes(drawn)
            return target

        yield resolve
