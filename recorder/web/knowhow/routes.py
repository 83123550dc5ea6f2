"""The addresses of the pages of recipes, trends and preparation."""

from __future__ import annotations

from starlette.routing import BaseRoute

ROUTES: list[BaseRoute] = []
