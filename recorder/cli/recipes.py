"""recipes: see below."""

from __future__ import annotations

import argparse

from recorder.cli.terminal import Commands


def add(commands: Commands, shared: argparse.ArgumentParser) -> None:
    pass
