"""The whole service from one command: a private PostgreSQL, the web server and the jobs as children of one supervisor."""
