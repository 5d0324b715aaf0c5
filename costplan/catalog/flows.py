"""flow.csv and lift_curves.csv of a catalog: what openings flow on a bench, and how a cam lifts."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, field_validator

from costplan.quantity import Quantity
from costplan.reading import Record
from costplan.reading.fields import Kind, Length, Name, Text, quantity_type, refuse

Side = Literal["intake", "exhaust"]
_NUMBER = "number, unit in the heading"
Flow = Annotated[Quantity, quantity_type("flow"), Kind(_NUMBER, "flow", "number")]
Pressure = Annotated[Quantity, quantity_type("pressure"), Kind(_NUMBER, "pressure", "number")]
Angle = Annotated[Quantity, quantity_type("angle", positive=False), Kind(_NUMBER, "angle", "number")]
Rise = Annotated[Quantity, quantity_type("length", positive=False), Kind(_NUMBER, "length", "number")]


class FlowRow(Record):
    """flow.csv of a catalog"""

    part: Name = Field(description="the part that was flowed: a head, carburetor, spacer, manifold ...")
    side: Side = Field(default="intake", description="which ports of a head")
    lift: Length | None = Field(
        default=None, description="lift of the valve in this row; empty for a part without valves, which has one row"
    )
    flow: Flow = Field(description="what it flows: one port or runner; of what all cylinders share the whole of it")
    pressure: Pressure = Field(description="the bench's test pressure, one for all rows of a part: 28 [inH2O]")
    source: Text = Field(default="", description="whose bench it is; without one it counts as assumed")


class LiftRow(Record):
    """lift_curves.csv of a catalog"""

    part: Name = Field(description="the cam that was measured")
    side: Side = Field(default="intake", description="which lobe")
    angle: Angle = Field(description="degrees of the crank from any mark, rising from row to row")
    lift: Rise = Field(description="rise of the lobe there, 0 on its base circle")
    source: Text = Field(default="", description="whose word it is; without one it counts as assumed")

    @field_validator("lift")
    @classmethod
    def _not_below(cls, value: Quantity) -> Quantity:
        if value.value < 0:
            raise refuse("REA018", "negative number:", "give 0 or more")
        return value
