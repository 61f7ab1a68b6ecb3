"""Complete trip files to start from; every scenario in them is invented."""
