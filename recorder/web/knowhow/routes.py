"""The addresses of the pages of recipes, trends and preparation."""

from __future__ import annotations

from starlette.routing import BaseRoute, Route

from recorder.web.knowhow import inventory

ROUTES: list[BaseRoute] = [
    Route("/inventory", inventory.show),
    Route("/inventory/checked", inventory.checked, methods=["POST"]),
    Route("/inventory/take", inventory.take, methods=["POST"]),
]
