"""The last: the form a boot is built on, made from a foot's measures, tracings or mesh."""

from patterns.last.last import Last

__all__ = ["Last"]
