"""What the wind does to a door, from the register's rows to what the page draws and says."""
