"""The program for other programs: keys, problems, lists by page, changes made once; each app brings its routes."""
