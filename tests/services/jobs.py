"""A real Redis and a real Celery worker."""
