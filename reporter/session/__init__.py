"""What the coach wrote: a lesson file, its pictures and its shots, read strictly and placed.

In comes the path of a lesson file; out goes a frozen `reporter.session.load.LoadedSession`. What
may be relied on afterwards: every name refers to something that exists, every picture named opens,
every number is finite and within its range, and every value knows the line it was written on.
"""
