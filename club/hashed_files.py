"""Static files under names that carry their content, our scripts that import scripts included."""

from __future__ import annotations

from whitenoise.storage import CompressedManifestStaticFilesStorage


class HashedFiles(CompressedManifestStaticFilesStorage):
    """A tablet never mixes modules of two versions: each names the others by their content.

    Django could rewrite imports in every script; those of other packages name files that are not there.
    """

    patterns = (
        *CompressedManifestStaticFilesStorage.patterns,
        (
            "assessments/*.js",
            (
                (r'(?P<matched>from "(?P<url>\./[^"]+)")', 'from "%(url)s"'),
                (r'(?P<matched>import\("(?P<url>\./[^"]+)"\))', 'import("%(url)s")'),
            ),
        ),
    )
