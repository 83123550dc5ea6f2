"""The addresses of the pages of recipes, trends and preparation."""

from __future__ import annotations

from starlette.routing import BaseRoute, Route

from recorder.web.knowhow import charts, inventory, kept, prepare, recipes, summary, trends

ROUTES: list[BaseRoute] = [
    Route("/recipes", recipes.show),
    Route("/recipes/{name}", kept.show),
    Route("/recipes/{name}/retire", kept.retire, methods=["POST"]),
    Route("/jobs/{id}/recipe", kept.keep, methods=["POST"]),
    Route("/trends", trends.show),
    Route("/trends/{kind}.{form}", charts.file),
    Route("/summary", summary.pdf),
    Route("/prepare", prepare.show, methods=["GET"]),
    Route("/prepare", prepare.look, methods=["POST"]),
    Route("/prepare/card", prepare.file, methods=["POST"]),
    Route("/prepare/start", prepare.start, methods=["POST"]),
    Route("/prepare/keep", prepare.keep, methods=["POST"]),
    Route("/prepare/begin", prepare.begin, methods=["POST"]),
    Route("/prepare/discard", prepare.discard, methods=["POST"]),
    Route("/inventory", inventory.show),
    Route("/inventory/checked", inventory.checked, methods=["POST"]),
    Route("/inventory/take", inventory.take, methods=["POST"]),
]
