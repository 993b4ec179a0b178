"""Check, without a network, that the lock files still answer pyproject.toml."""

import re
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).resolve().parent.parent
LOCKED = re.compile(r"^(?P<name>[A-Za-z0-9._-]+)(\[[^]]*\])?==(?P<version>[^ \\]+)", re.MULTILINE)


def main() -> int:
    """Print each complaint; return 0 when there is none, else 1."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())
    needed = project["project"]["dependencies"]
    needed_in_dev = needed + project["dependency-groups"]["dev"]
    found = [
        *complaints("requirements.lock", needed),
        *complaints("requirements-dev.lock", needed_in_dev),
        *disagreements("requirements.lock", "requirements-dev.lock"),
    ]
    for complaint in found:
        print(f"{complaint} Run 'make lock'.", file=sys.stderr)
    return 1 if found else 0


def complaints(lock_name: str, needed: list[str]) -> Iterator[str]:
    """Yield a sentence for each requirement the lock leaves out, and each entry without a hash."""
    text = (ROOT / lock_name).read_text()
    locked = locked_versions(text)
    for requirement in map(Requirement, needed):
        version = locked.get(canonicalize_name(requirement.name))
        if version is None:
            yield f"{lock_name} lacks {requirement.name}."
        elif version not in requirement.specifier:
            yield f"{lock_name} has {requirement.name} {version}, not {requirement.specifier}."
    for entry in re.split(r"\n(?=\S)", text.strip()):
        if "--hash=sha256:" not in entry:
            yield f"{lock_name} has no hash for {entry.splitlines()[0]!r}."
    if "://" in text:
        yield f"{lock_name} names an address, which ties it to one package index."


def disagreements(lock_name: str, dev_lock_name: str) -> Iterator[str]:
    """Yield a sentence for each version that tests would run with and a site would not."""
    in_dev = locked_versions((ROOT / dev_lock_name).read_text())
    for name, version in locked_versions((ROOT / lock_name).read_text()).items():
        if in_dev.get(name) != version:
            yield f"{lock_name} has {name} {version}, {dev_lock_name} has {in_dev.get(name)}."


def locked_versions(text: str) -> dict[str, str]:
    """Return the version of each package named in a lock file, by canonical name."""
    return {canonicalize_name(m["name"]): m["version"] for m in LOCKED.finditer(text)}


if __name__ == "__main__":
    sys.exit(main())
