"""The projection method: from a foot to pieces by its outline and its side profile."""
