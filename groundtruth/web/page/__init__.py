"""The page on the own computer: a server on the loopback interface and the files it shows."""
