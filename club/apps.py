"""The club app registers its start-up checks."""

from django.apps import AppConfig


class ClubConfig(AppConfig):
    """People, access and the frame of every page."""

    name = "club"
    verbose_name = "Club"

    def ready(self) -> None:
        """Checks register themselves on import."""
        from club import checks

        assert checks
