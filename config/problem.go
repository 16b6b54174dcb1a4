package config

import (
	"fmt"
	"strings"
	"unicode/utf8"
)

// Problem is one thing wrong with the settings and what to do about it.
type Problem struct {
	// Key is the setting, as in "mail.port", or the name of an environment variable that is none.
	Key string
	// Value is what was given, made safe to print; "" where it is secret, unknown or not given.
	Value string
	// Origin is where it came from: "file PATH", "environment NAME", "flag --NAME" or "default".
	Origin string
	// Why is what is wrong with it, Remedy what to do.
	Why, Remedy string
}

func (p Problem) String() string {
	head := p.Key
	if p.Value != "" {
		head += " = " + p.Value
	}
	return fmt.Sprintf("%s (%s): %s; %s", head, p.Origin, p.Why, p.Remedy)
}

// Problems is the error Load returns when the settings were read but cannot be used. It is never empty.
type Problems []Problem

func (p Problems) Error() string {
	if len(p) == 1 {
		return "settings: " + p[0].String()
	}
	lines := []string{fmt.Sprintf("settings: %d problems", len(p))}
	for _, one := range p {
		lines = append(lines, "  "+one.String())
	}
	return strings.Join(lines, "\n")
}

// refusal is why a value is not taken, and what to write instead.
type refusal struct{ why, remedy string }

func (r refusal) Error() string { return r.why + "; " + r.remedy }

func refuse(why, remedy string, args ...any) error {
	return refusal{why, fmt.Sprintf(remedy, args...)}
}

// show makes a value fit to print: short, quoted, and without what may be the user name and password of an address.
func show(raw any) string {
	s := fmt.Sprint(raw)
	if i := strings.LastIndex(s, "@"); i >= 0 && strings.Contains(s[:i], ":") {
		s = "[hidden]" + s[i:]
	}
	const most = 80
	if utf8.RuneCountInString(s) > most {
		s = string([]rune(s)[:most]) + "..."
	}
	return fmt.Sprintf("%q", s)
}
