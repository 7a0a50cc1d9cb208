"""Reads: each takes the asker's role and gives no money and no contact to who may see none."""
