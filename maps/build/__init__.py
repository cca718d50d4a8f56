"""Scripts that turn packages of open data into the data files of ``maps``; nothing here is needed at run time."""
