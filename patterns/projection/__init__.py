"""The projection method: from a foot to pieces by its outline and its side profile.

`draft_pieces` is the whole way; `shape_of_foot` gives the two drawings it works from.
"""

from patterns.projection.draft import ENGINE, draft_pieces
from patterns.projection.shape import shape_of_foot

__all__ = ["ENGINE", "draft_pieces", "shape_of_foot"]
