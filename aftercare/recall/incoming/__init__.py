"""INCOMING: rows of somebody's list to people, visits and recalls, each ready, silent or held."""
