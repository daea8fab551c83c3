"""What a farm's file tells whoever opens it."""

from typing import Final

README_TEXT: Final = "\r\n".join((
    "A whole farm, in open formats",
    "",
    "tables/*.csv      one table each: RFC 4180, UTF-8, first line the names of the columns",
    "photos, voices    pictures (JPEG) and spoken notes, each named by its SHA-256",
    "plan.geojson      the structures on the map, RFC 7946; empty where the farm's place is not known",
    "datapackage.json  what lies here: each file with its size and SHA-256, each table with its columns,",
    "                  and what stayed behind, with the reason",
    "",
    "row               a row's number in its table. A column that names another table holds that table's numbers.",
    "_mm               millimetres; _m_s metres per second; _deg degrees; _k kelvin",
    "moments           in UTC, by ISO 8601; days and times of the clock are the farm's own",
    "an empty cell     not known",
    "a quote           before a text that begins like a formula: it keeps spreadsheet programs from running it",
    "",
    "No password, key or code is in this file. Names, e-mail addresses and pictures of people are: treat it so.",
    "Every wind figure is a planning estimate.",
    "",
))  # fmt: skip
