"""Goods bought so far take today's price, and jobs the moment their trail says they were finished."""

from decimal import Decimal

from django.db import migrations


def fill(apps, schema_editor):
    supplies = apps.get_model("workshop", "Supply")
    moves = apps.get_model("workshop", "StockMove")
    for supply in supplies.objects.all():
        for move in moves.objects.filter(supply=supply, on_hand_change__gt=0, cost=None):
            quantity = Decimal(move.on_hand_change) / 1000
            cost = quantity * supply.pack_price / supply.pack_quantity
            moves.objects.filter(pk=move.pk).update(cost=cost.quantize(Decimal("0.000001")))
    entries = apps.get_model("workshop", "AuditEntry")
    commissions = apps.get_model("workshop", "Commission")
    finished = entries.objects.filter(record_kind="commission", action="finished")
    for record_id, at in finished.order_by("id").values_list("record_id", "at"):
        commissions.objects.filter(pk=record_id).update(finished_at=at)


def empty(apps, schema_editor):
    apps.get_model("workshop", "StockMove").objects.update(cost=None)
    apps.get_model("workshop", "Commission").objects.update(finished_at=None)


class Migration(migrations.Migration):
    dependencies = [("workshop", "0031_counting_back")]

    operations = [migrations.RunPython(fill, empty)]
