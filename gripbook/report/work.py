def rehearse() -> None:
    import gripbook.report.shell_engine  # noqa
