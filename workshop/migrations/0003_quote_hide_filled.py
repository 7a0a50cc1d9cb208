"""Quotes made before get their hide from the code they keep."""

from django.db import migrations


def fill(apps, schema_editor):
    """Find each quote's hide by the number in its code; a hide not there stays empty."""
    quotes, hides = apps.get_model("workshop", "Quote"), apps.get_model("workshop", "Hide")
    number_to_id = dict(hides.objects.values_list("number", "pk"))
    for quote in quotes.objects.filter(hide=None).only("pk", "snapshot").iterator(chunk_size=200):
        code = str(quote.snapshot.get("hide", {}).get("code", ""))
        number = code.removeprefix("H-")
        if number.isascii() and number.isdigit():
            quotes.objects.filter(pk=quote.pk).update(hide_id=number_to_id.get(int(number)))


class Migration(migrations.Migration):
    dependencies = [("workshop", "0002_quote_hide")]

    operations = [migrations.RunPython(fill, migrations.RunPython.noop)]
