"""What the pages say of upkeep: places, reasons, the farm's own words in the reader's language."""
