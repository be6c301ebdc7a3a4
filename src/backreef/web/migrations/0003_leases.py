from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("web", "0002_people"),
    ]

    operations = [
        migrations.AddField(
            model_name="job",
            name="holder",
            field=models.CharField(default="", max_length=120),
        ),
        migrations.AddField(
            model_name="job",
            name="leased_until",
            field=models.DateTimeField(null=True),
        ),
    ]
