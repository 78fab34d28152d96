"""Papers for people: the job ticket as PDF and HTML, the customer proof as PDF; never a file for a machine."""
