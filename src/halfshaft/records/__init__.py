"""Conversions, what was done to them and who may do it, kept in a database. Nothing that was kept is ever overwritten.

Open a database with `database.open_database(url)`; every other function takes it first. Times are given by the caller, always with a time
zone. Modules: `conversions` (which there are), `revisions` (what is kept), `saving`, `steps` (undo, redo, go back), `lines` (what-ifs),
`drafts` (what does not read yet), `carrying` (in and out as files), `laying` (what is done at the bench), `waivers`,
`people` (who may do what).
"""
