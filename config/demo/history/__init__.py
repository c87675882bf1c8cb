"""What happened to each aircraft of the demo, told through the services, oldest first."""
