"""How a photo is received: in memory only, so that its metadata never touches the disk.

Django's own handlers spill an upload of more than 2.5 MB into a temporary file, and with it the
place a phone wrote into the photo.
"""

from collections.abc import Callable
from functools import wraps
from typing import Any, Concatenate

from django.core.files.uploadedfile import UploadedFile
from django.core.files.uploadhandler import MemoryFileUploadHandler
from django.http import HttpRequest, HttpResponseBase
from django.views.decorators.csrf import csrf_exempt, csrf_protect

from palettes.photos import MAX_BYTES


class PhotoUploadHandler(MemoryFileUploadHandler):
    """Keep the request's first upload in memory; of one past the limit only its size."""

    files = 0

    def handle_raw_input(self, *args: Any, **kwargs: Any) -> None:
        self.activated = True

    def new_file(self, *args: Any, **kwargs: Any) -> None:
        self.files += 1
        super().new_file(*args, **kwargs)

    def receive_data_chunk(self, raw_data: bytes, start: int) -> bytes | None:
        if self.files > 1:
            return None
        if start + len(raw_data) > MAX_BYTES:
            self.file.seek(0)
            self.file.truncate()
            return None
        return super().receive_data_chunk(raw_data, start)

    def file_complete(self, file_size: int) -> UploadedFile[Any] | None:
        return super().file_complete(file_size) if self.files == 1 else None


def receives_photo[**P](
    view: Callable[Concatenate[HttpRequest, P], HttpResponseBase],
) -> Callable[Concatenate[HttpRequest, P], HttpResponseBase]:
    """Let a view take a photo: choose how it is received before anything reads it.

    The check of the token is one of those things, so it comes after.
    """
    checked = csrf_protect(view)

    @csrf_exempt
    @wraps(view)
    def receiving(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponseBase:
        request.upload_handlers = [PhotoUploadHandler(request)]
        return checked(request, *args, **kwargs)

    return receiving
