"""
A folder of pages: notebooks run by papermill, in workers, with a record of what was made.

- `batch`: a run from start to end; `manifest`: what a page depends on, and the run's record;
- `work`: one page as a job; `workers`, `worker`, `cluster`: the processes that do jobs;
- `engine`, `shell_engine`, `notebooks`: how a notebook is run, and where the pages' are;
- `progress`, `pdf`: the bar, and the same pages on paper.

Nothing of it is imported here: a worker loads only what it needs.
"""
