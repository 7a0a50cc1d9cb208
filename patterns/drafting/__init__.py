"""From a last and a style's lines to pieces: `draft_pieces` is the whole way."""

from patterns.drafting.draft import ENGINE, draft_pieces
from patterns.drafting.plan import LAYERS, plan_draft, reach_mm

__all__ = ["ENGINE", "LAYERS", "draft_pieces", "plan_draft", "reach_mm"]
