package wording

import "maps"

func init() { maps.Copy(spanish, spanishAPI) }

var spanishAPI = map[string]string{
	"page.error.file": "El archivo no es de un tipo que se pueda leer", "page.error.file.text": "Envíe el cuerpo como text/csv, application/jsonl o application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.",
}
