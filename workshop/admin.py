"""The owner's back door: everything may be looked at; the pages are the way to change things."""

from django.contrib import admin

from workshop import models


class LookOnly(admin.ModelAdmin):
    """A record shown as it is stored."""

    def has_add_permission(self, request: object) -> bool:
        """Refuse: a record made here would have no number and no audit row."""
        return False

    def has_change_permission(self, request: object, obj: object = None) -> bool:
        """Refuse, for the same reason."""
        return False

    def has_delete_permission(self, request: object, obj: object = None) -> bool:
        """Refuse: older papers may refer to it."""
        return False


for name in models.__all__:
    if name not in ("Role", "LoginLink"):
        admin.site.register(getattr(models, name), LookOnly)
