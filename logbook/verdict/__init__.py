"""The judgement: what a change was worth, how sure that is, and what to pull next.

Pure functions on numpy arrays that return small frozen results. They know nothing of books,
files or screens and can be called from a notebook::

    from logbook.verdict import difference

    judged = difference.judge(
        number=[1, 2, 3, 4, 5, 6],
        setup=[0, 0, 1, 1, 0, 0],
        score=[88.1, 88.3, 89.0, 89.2, 88.2, 88.1],
        baseline=0,
    )
    judged.by_setup[1].percent, judged.by_setup[1].verdict
"""
