"""The plan of film to replace, with sizes, cost and days to order by."""
