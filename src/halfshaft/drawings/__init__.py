"""Boards, faces, labels and pictures as shapes in millimetres. Nothing here knows a file format."""
