"""What goes wrong around the program: kills, disks, files, people."""
