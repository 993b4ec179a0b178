"""Log lines as JSON objects, one a line, that say nothing about a person.

Addresses of pages carry tokens, and an error's own words may quote what somebody typed, so neither
is written: a request is its page's name, status and time, an error its kind and where it arose.
"""

import json
import logging
import re
import traceback
from contextvars import ContextVar
from datetime import UTC, datetime
from typing import Any

MAIL_ADDRESS = re.compile(r"[^\s<>\"'=(]+@[^\s<>\"',)]+")
NEAREST = 12  # frames of an error, counted from where it arose; our choice

request_id: ContextVar[str] = ContextVar("request_id", default="")


class JsonFormatter(logging.Formatter):
    """Time, level, logger, message, and `request` when there is one under way; `facts` as given."""

    def format(self, record: logging.LogRecord) -> str:
        line: dict[str, Any] = {
            "time": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(),
            "logger": record.name,
            "message": _message(record),
        }
        if under_way := request_id.get():
            line["request"] = under_way
        line |= getattr(record, "facts", {})
        if record.exc_info and record.exc_info[1]:
            line["error"] = _error(record.exc_info[1])
        return json.dumps(line, ensure_ascii=False, default=str)


def _message(record: logging.LogRecord) -> str:
    message = record.getMessage()
    if hasattr(record, "request"):
        # Django ends these with the address that was asked for.
        message = message.partition(":")[0]
    return MAIL_ADDRESS.sub("(a mail address)", message)


def _error(error: BaseException) -> dict[str, Any]:
    frames = traceback.extract_tb(error.__traceback__)[-NEAREST:]
    kinds: list[str] = []
    cause: BaseException | None = error
    while cause is not None and len(kinds) < NEAREST:
        kinds.append(f"{type(cause).__module__}.{type(cause).__qualname__}")
        cause = cause.__cause__ or cause.__context__
    return {
        "kind": kinds[0],
        "after": kinds[1:],
        "at": [f"{frame.filename}:{frame.lineno} {frame.name}" for frame in frames],
    }
