"""Filters and tags of the pages."""
