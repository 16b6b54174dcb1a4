package wording

import "maps"

func init() { maps.Copy(english, englishAPI) }

var englishAPI = map[string]string{
	"page.error.file": "Not a file of a kind that is read", "page.error.file.text": "Send the body as text/csv, application/jsonl or application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.",
}
