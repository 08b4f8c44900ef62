def recompute(package, tally):
    pass
