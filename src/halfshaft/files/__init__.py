"""A conversion to a folder or a workbook and back. Nothing here knows what the numbers mean."""
