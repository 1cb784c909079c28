"""The instructor's side, as pieces for nbgrader: points from records, collecting, feedback, export.

No code of a student is run: the notebook handed in is data, and points come from the record, played
again on the instructor's own copy of the case. One piece a file; `config` puts them together:

    zip_collect        extractor (with zips), collector
    autograde          hook (with notebooks), answers, points (with marking, courseside), grades
    generate_feedback  sheetpage, which points put into the graded notebook
    export             export; report says the same on the command line

nbgrader is imported by the modules that are pieces of it and by nothing else.
"""
