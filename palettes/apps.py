from django.apps import AppConfig


class PalettesConfig(AppConfig):
    name = "palettes"
