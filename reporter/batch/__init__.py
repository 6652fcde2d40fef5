"""Many lessons in one run: found, checked, built side by side, and listed one by one."""
