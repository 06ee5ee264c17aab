"""What a person or a program reads: reports, pictures, files. Reads results, computes nothing."""
