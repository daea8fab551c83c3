"""What crews note on their phones: read, taken in exactly once, acted on, and what a phone carries in return."""
