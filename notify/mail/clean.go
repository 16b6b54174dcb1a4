package mail

import (
	"encoding/base64"
	"strings"
	"unicode"
	"unicode/utf8"
)

// unsafeRune tells whether r can break a line, hide, or reorder the text around it: control characters, the
// Unicode line and paragraph separators, bidirectional embeddings, overrides and isolates, and the mark of
// an encoding error.
func unsafeRune(r rune) bool {
	switch {
	case unicode.IsControl(r), r == '\u2028', r == '\u2029', r == utf8.RuneError:
		return true
	case r >= '\u202a' && r <= '\u202e', r >= '\u2066' && r <= '\u2069':
		return true
	}
	return false
}

// cleanLine makes one line of any text: unsafe runes become spaces, runs of white space one space.
func cleanLine(s string) string {
	s = strings.Map(func(r rune) rune {
		if unsafeRune(r) {
			return ' '
		}
		return r
	}, s)
	return strings.Join(strings.Fields(s), " ")
}

// cleanBody makes valid UTF-8 with \n line ends and no control characters but those and tabs.
func cleanBody(s string) string {
	s = strings.ToValidUTF8(s, "\ufffd")
	s = strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(s)
	return strings.Map(func(r rune) rune {
		if unicode.IsControl(r) && r != '\n' && r != '\t' {
			return -1
		}
		return r
	}, s)
}

func isASCII(s string) bool {
	for i := 0; i < len(s); i++ {
		if s[i] >= utf8.RuneSelf {
			return false
		}
	}
	return true
}

// encodeSubject returns the subject in a form that reads back as exactly itself. Plain ASCII is left to the
// composer, which folds it at spaces. Encoded (RFC 2047) is text outside ASCII, text that looks like an
// encoded word, and a word too long to fold. The encoded words are short enough for the first to stand on the
// line of the field's name: a field folded right behind its colon shows a leading space in some readers.
func encodeSubject(s string) string {
	if isASCII(s) && !strings.Contains(s, "=?") && longestWord(s) <= 60 {
		return s
	}
	const chunk = 36 // octets: 48 in base64, 60 with the frame
	var words []string
	for len(s) > 0 {
		n := min(chunk, len(s))
		for n < len(s) && !utf8.RuneStart(s[n]) {
			n-- // RFC 2047 5: a character is not split between encoded words
		}
		words = append(words, "=?utf-8?b?"+base64.StdEncoding.EncodeToString([]byte(s[:n]))+"?=")
		s = s[n:]
	}
	return strings.Join(words, " ")
}

func longestWord(s string) int {
	longest := 0
	for w := range strings.FieldsSeq(s) {
		longest = max(longest, len(w))
	}
	return longest
}
