package notify

const childWork = "VENTDUE_NOTIFY_TEST_CHILD"

func runChild(string) int { return 0 }
