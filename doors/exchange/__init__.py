"""Tables that go in and out of files: columns, spreadsheets, import with a look at every row."""
