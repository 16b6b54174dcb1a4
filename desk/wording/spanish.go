package wording

// spanish holds what has been put into Spanish; a key that is missing here is said in English.
var spanish = map[string]string{}
