"""What a price is per becomes one of six measures; a word that is none of them is kept in the notes."""

from django.db import migrations

MEASURES = {
    "each": ("piece", "pieces", "each", "pc", "door"),
    "stock": ("length", "stock length", "piece of stock", "stock", "bar", "board"),
    "m": ("m", "metre", "meter"),
    "ft": ("ft", "foot", "feet"),
    "m2": ("m2", "m²", "square metre", "square meter"),
    "ft2": ("ft2", "ft²", "sq ft", "square foot"),
}
MEASURE_OF = {word: measure for measure, words in MEASURES.items() for word in words}


def choose_measures(apps, schema_editor):
    materials = apps.get_model("doors", "Material").objects.using(schema_editor.connection.alias)
    for material in materials.exclude(price_per=""):
        word = material.price_per
        material.price_per = MEASURE_OF.get(word.strip().casefold(), "")
        if not material.price_per:
            material.notes = f"{material.notes}\nPrice is per: {word}".strip()
        material.save(update_fields=["price_per", "notes"])


class Migration(migrations.Migration):
    dependencies = [("doors", "0004_hold_downs_and_strengths")]

    operations = [migrations.RunPython(choose_measures, migrations.RunPython.noop)]
