from django.apps import AppConfig


class ScheduleConfig(AppConfig):
    name = "schedule"
