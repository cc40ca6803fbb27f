"""What all blocks of all documents have in common."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict


class Block(BaseModel):
    """A part of a document: no unknown fields, no NaN or infinity."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)
