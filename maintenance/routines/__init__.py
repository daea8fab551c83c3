"""The pages on which a farm changes its rules of upkeep."""
