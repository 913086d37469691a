"""/health: whether the service answers and its database with it."""

from typing import Any

from flask.views import MethodView

import crossload
from crossload.api.blueprint import Blueprint
from crossload.api.fields import Shape, Text
from crossload.api.session import public
from crossload.usecases import pools

blueprint = Blueprint("health", __name__, url_prefix="/api/v1", description="Is it up?")


class HealthOut(Shape):
    status = Text(required=True)
    version = Text(required=True)


@blueprint.route("/health")
class Health(MethodView):
    @public
    @blueprint.response(200, HealthOut)
    def get(self) -> Any:
        """Up, with the database behind it; a 503 problem when the database does not answer."""
        pools.all_pools()
        return {"status": "up", "version": crossload.__version__}
