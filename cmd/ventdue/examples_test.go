package main

import (
	"strings"
	"testing"

	"github.com/spf13/cobra"
)

// TestEveryCommandHasATrueExample parses the examples that --help shows with the commands' own flags and arguments. It does not run them:
// most name records that a reader has yet to bring in.
func TestEveryCommandHasATrueExample(t *testing.T) {
	every := map[string]bool{}
	var walk func(c *cobra.Command)
	walk = func(c *cobra.Command) {
		for _, sub := range c.Commands() {
			path := strings.TrimPrefix(sub.CommandPath(), "ventdue ")
			every[path] = true
			if sub.Name() == "help" || sub.Hidden {
				continue
			}
			own := 0
			for line := range strings.Lines(sub.Example) {
				for _, words := range commandsOf(line) {
					// A fresh tree each time: flags keep what was parsed.
					got, rest, err := (&app{}).root().Find(words)
					if err == nil {
						err = got.ParseFlags(rest)
					}
					if err == nil {
						err = got.ValidateArgs(got.Flags().Args())
					}
					if err != nil {
						t.Errorf("%s: the example %q is refused: %v", path, strings.TrimSpace(line), err)
						continue
					}
					if strings.HasPrefix(got.CommandPath(), sub.CommandPath()) {
						own++
					}
				}
			}
			if own == 0 {
				t.Errorf("%s: --help shows no example of it", path)
			}
			walk(sub)
		}
	}
	walk((&app{}).root())
	for path := range examples {
		if !every[path] {
			t.Errorf("an example of %q, which is no command", path)
		}
	}
}

// commandsOf gives the words of each call of ventdue in a line of a shell, without its own name and without what stands behind < and >.
func commandsOf(line string) (all [][]string) {
	var words []string
	flush := func() {
		if len(words) > 0 && words[0] == "ventdue" {
			all = append(all, words[1:])
		}
		words = nil
	}
	skip := false
	for _, w := range shellWords(line) {
		switch {
		case w == "|" || w == "&&" || w == ";" || w == `\`:
			flush()
		case w == "<" || w == ">":
			skip = true
		case skip:
			skip = false
		default:
			words = append(words, w)
		}
	}
	flush()
	return all
}

// shellWords splits a line at spaces outside quotes, and takes the quotes away.
func shellWords(line string) (words []string) {
	var w strings.Builder
	var quote rune
	in := false
	for _, r := range strings.TrimSpace(line) {
		switch {
		case quote != 0 && r == quote:
			quote = 0
		case quote == 0 && (r == '"' || r == '\''):
			quote, in = r, true
		case quote == 0 && (r == ' ' || r == '\t'):
			if in {
				words = append(words, w.String())
				w.Reset()
				in = false
			}
		default:
			w.WriteRune(r)
			in = true
		}
	}
	if in {
		words = append(words, w.String())
	}
	return words
}
