"""The trials of deploy/trials.py: the service as it is deployed, under load and under faults."""
