package store

const childJob = "VENTDUE_STORE_TEST_CHILD"

func runChild(string) int { return 0 }
