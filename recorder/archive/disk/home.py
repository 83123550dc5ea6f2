"""The home: the one folder in which everything of this installation lies.

::

    <home>/
      settings.toml    written by the user
      vocabulary.toml  the firm's own words, written by the user
      synonyms.toml    the firm's words that mean the same, written by the user
      searches.json    searches that were saved
      recipes/         recipes that the firm keeps
      windows.toml     settings that belt makers give
      inventory.toml   the firm's presses and templates, as it listed them
      conveyors.toml   its customers' conveyors, likewise
      checks.jsonl     checks of presses and templates that were noted
      prepared/        job cards that wait for their job
      index.sqlite     derived from the jobs; may be deleted
      identity/        signing keys
      cameras/         calibrated lenses
      access/          paired devices, and the authority for the network
      jobs/<id>/       one folder for each job: the truth
"""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

from recorder.errors import HomeUnusable


@dataclass(frozen=True)
class Home:
    """root: absolute path of the folder."""

    root: Path

    @classmethod
    def open(cls, path: Path, create: bool = True) -> Home:
        """The home at ``path``; with ``create`` it is made when absent and must be writable. A new
        one is for its owner alone: what was said at work is no other user's of the machine.

        Raises HomeUnusable.
        """
        try:
            home = cls(path.expanduser().absolute())
            if create:
                home.root.mkdir(mode=0o700, parents=True, exist_ok=True)
                home.jobs.mkdir(exist_ok=True)
                home.identity.mkdir(mode=0o700, exist_ok=True)
                if not os.access(home.jobs, os.W_OK) or not os.access(home.root, os.W_OK):
                    raise HomeUnusable(path=path, detail="it is read-only")
            elif not home.jobs.is_dir():
                raise HomeUnusable(path=path, detail="there is no home of Seamnote")
        except (OSError, ValueError, RuntimeError) as error:  # not: a NUL, or nobody's ~name
            raise HomeUnusable(path=path, detail=cause(error)) from error
        return home

    @property
    def jobs(self) -> Path:
        return self.root / "jobs"

    @property
    def index(self) -> Path:
        return self.root / "index.sqlite"

    @property
    def settings(self) -> Path:
        return self.root / "settings.toml"

    @property
    def vocabulary(self) -> Path:
        return self.root / "vocabulary.toml"

    @property
    def synonyms(self) -> Path:
        return self.root / "synonyms.toml"

    @property
    def searches(self) -> Path:
        return self.root / "searches.json"

    @property
    def inventory(self) -> Path:
        return self.root / "inventory.toml"

    @property
    def conveyors(self) -> Path:
        return self.root / "conveyors.toml"

    @property
    def checks(self) -> Path:
        return self.root / "checks.jsonl"

    @property
    def recipes(self) -> Path:
        return self.root / "recipes"

    @property
    def windows(self) -> Path:
        return self.root / "windows.toml"

    @property
    def identity(self) -> Path:
        return self.root / "identity"

    @property
    def cameras(self) -> Path:
        return self.root / "cameras"


def default_home() -> Path:
    """SEAMNOTE_HOME when it is set, else the platform's folder for the data of a user."""
    chosen = os.environ.get("SEAMNOTE_HOME")
    if chosen:
        return Path(chosen)
    import platformdirs

    return platformdirs.user_data_path("seamnote", appauthor=False)


def cause(error: Exception) -> str:
    """What the system says, without the number and the path."""
    return getattr(error, "strerror", None) or str(error)
