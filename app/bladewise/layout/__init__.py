"""What a job takes and how it is put before people: figures by material, pages with pictures, scale bars."""
