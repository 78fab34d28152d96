"""Materials: the page of the job's and the shop's vinyls and prints, what comes apart on it, and the layers apart."""
