"""The job strip: the job's name and sheet, and one chip a material with what it takes to cut it."""
