"""What stands behind the values of a job: the seconds of sound, and the pictures."""

from __future__ import annotations

import threading
from pathlib import Path

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from recorder.archive.jobs.folder import JobFolder
from recorder.flows import clip
from recorder.flows.looking import looking
from recorder.model.job import Job
from recorder.web.jobs.photos import KINDS, photo_files
from recorder.web.jobs.work import folder_of

LONGEST_PX = 2048
one_at_a_time = threading.Lock()  # a page asks for all of its pictures at once


def sound(request: Request) -> Response:
    """GET /jobs/{id}/clip/{place}: WAV of the words of the reading at that place."""
    folder = folder_of(request)
    job, place = folder.load(), request.path_params["place"]
    if not 0 <= place < len(job.readings):
        raise HTTPException(404)
    content = clip.sound(folder, job, job.readings[place])
    return Response(content, media_type="audio/wav")


def picture(request: Request) -> Response:
    """GET /jobs/{id}/picture/{number}/{kind}: a JPEG made anew, of pixels alone: no place, no
    device, nothing that the file held besides.
    """
    folder = folder_of(request)
    path = _picture_path(folder, folder.load(), **request.path_params)
    with one_at_a_time:
        content = looking.redraw(path, path.name, LONGEST_PX)
    return Response(content, media_type="image/jpeg")


def _picture_path(folder: JobFolder, job: Job, id: str, number: int, kind: str) -> Path:
    files = photo_files(job)
    if kind not in KINDS or not 1 <= number <= len(files):
        raise HTTPException(404)
    media = files[number - 1]
    if kind == KINDS[0]:
        if media.removed:
            raise HTTPException(404)
        return folder.path_of(media.path)
    seam = next((each for each in job.measurements if each.file == media.name), None)
    relative = getattr(seam, kind, None)
    if not relative:
        raise HTTPException(404)
    return folder.path_of(relative)
