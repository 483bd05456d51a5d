"""Ways of mending that have to look at the whole record, one topic a file; rulesets name them."""
