"""The addresses of the pages of recipes, trends and preparation."""

from __future__ import annotations

from starlette.routing import BaseRoute, Route

from recorder.web.knowhow import inventory, kept, recipes

ROUTES: list[BaseRoute] = [
    Route("/recipes", recipes.show),
    Route("/recipes/{name}", kept.show),
    Route("/recipes/{name}/retire", kept.retire, methods=["POST"]),
    Route("/jobs/{id}/recipe", kept.keep, methods=["POST"]),
    Route("/inventory", inventory.show),
    Route("/inventory/checked", inventory.checked, methods=["POST"]),
    Route("/inventory/take", inventory.take, methods=["POST"]),
]
