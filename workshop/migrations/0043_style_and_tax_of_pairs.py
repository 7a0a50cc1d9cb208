"""Pairs of before get their style, their sales the tax in them, their jobs the day they ended."""

from django.db import migrations


def fill(apps, schema_editor):
    """Take the style from the job's quote or the article, the tax from the pair that is sold."""
    FinishedPair = apps.get_model("workshop", "FinishedPair")
    PairStep = apps.get_model("workshop", "PairStep")
    Quote = apps.get_model("workshop", "Quote")
    for pair in FinishedPair.objects.select_related("article__style__style"):
        if pair.commission_id is not None:
            quotes = Quote.objects.filter(commission_id=pair.commission_id, state="accepted")
            name = quotes.values_list("snapshot__style__name", flat=True).first()
        else:
            name = pair.article.style.style.name if pair.article is not None else ""
        FinishedPair.objects.filter(pk=pair.pk).update(style=(name or "")[:120])
        if pair.state == "sold":
            last = PairStep.objects.filter(pair=pair, kind="sold").order_by("-id").first()
            if last is not None:
                PairStep.objects.filter(pk=last.pk).update(tax=pair.sold_tax)
    # A job whose pairs went to the shelf stays in the month it was finished in.
    Commission = apps.get_model("workshop", "Commission")
    for job in Commission.objects.filter(state="withdrawn", finished_pairs__isnull=False):
        made = PairStep.objects.filter(pair__commission=job, kind="made").order_by("id").first()
        if made is not None:
            Commission.objects.filter(pk=job.pk).update(finished_at=made.made_at)


class Migration(migrations.Migration):
    """Fill what 0042 has added."""

    dependencies = [("workshop", "0042_jobs_without_a_customer")]

    operations = [migrations.RunPython(fill, migrations.RunPython.noop)]
