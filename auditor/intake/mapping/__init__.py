"""Maps: a site's own description of an export → records."""
