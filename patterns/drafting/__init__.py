"""From a last and a style's lines to pieces: `draft_pieces` is the whole way."""
