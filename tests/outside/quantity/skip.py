"""Says that a check needs what is not there, and is skipped.

    skip.py WHAT
"""
import sys

print(f"SKIP: {sys.argv[1]} is not there")
sys.exit(77)
