"""How a photo is received: in memory only, so that its metadata never touches the disk.

Django's own handlers spill an upload of more than 2.5 MB into a temporary file, and with it the
place a phone wrote into the photo.
"""

from typing import Any

from django.core.files.uploadedfile import UploadedFile
from django.core.files.uploadhandler import MemoryFileUploadHandler, SkipFile

from palettes.photos import MAX_BYTES


class PhotoUploadHandler(MemoryFileUploadHandler):
    """Keep the request's first upload in memory; of one past the limit only its size."""

    has_file = False

    def handle_raw_input(self, *args: Any, **kwargs: Any) -> None:
        self.activated = True

    def new_file(self, *args: Any, **kwargs: Any) -> None:
        if self.has_file:
            raise SkipFile
        self.has_file = True
        super().new_file(*args, **kwargs)

    def receive_data_chunk(self, raw_data: bytes, start: int) -> bytes | None:
        if start + len(raw_data) > MAX_BYTES:
            self.file.seek(0)
            self.file.truncate()
            return None
        return super().receive_data_chunk(raw_data, start)

    def file_complete(self, file_size: int) -> UploadedFile[Any] | None:
        upload = super().file_complete(file_size)
        if upload is not None:
            upload.size = file_size
        return upload
