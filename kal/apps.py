from django.apps import AppConfig


class KalConfig(AppConfig):
    name = "kal"
    verbose_name = "knit-alongs"
