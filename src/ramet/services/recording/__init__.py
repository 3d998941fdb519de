"""What a grower does, each a verb: checked, and written in one transaction or not at all."""
