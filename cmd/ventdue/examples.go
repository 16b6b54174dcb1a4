package main

import (
	"strings"

	"github.com/spf13/cobra"
)

// examples are the examples of commands that are made by a common constructor, or need no more than a line, by the command's path.
// TestEveryCommandHasATrueExample parses every one.
var examples = map[string]string{
	"serve":            "ventdue serve\nventdue serve --data /srv/ventdue --web-listen 127.0.0.1:8020",
	"export":           "ventdue export --to all.jsonl\nventdue export | gzip > all.jsonl.gz",
	"fault":            "ventdue fault list\nventdue fault show 01a21217",
	"fault show":       "ventdue fault show 01a21217",
	"fault fix":        `ventdue fault fix 01a21217 --by "Ana Rivera" --how "foil piece replaced by semi-rigid metal"`,
	"fault waive":      `ventdue fault waive 01a21217 --by "Rosa Lindqvist" --until 2027-03-01 --why "the wall is opened in spring"`,
	"fault tag":        "ventdue fault tag 01a21217\nventdue fault tag 01a21217 --off",
	"fault call":       `ventdue fault call 01a21217 --who "Rosa Lindqvist" --how telephone --role customer --ack`,
	"fault release":    `ventdue fault release 01a21217 --by "Marlon Fay" --as "appliance technician, certificate 88" --what "crushed elbow replaced"`,
	"check":            "ventdue check list\nventdue check done --site maple --line outside --by \"Ana Rivera\"",
	"rules":            "ventdue rules\nventdue rules | less",
	"visits propose":   "ventdue visits propose\nventdue visits propose --json",
	"visits plan":      "ventdue visits plan",
	"visits list":      "ventdue visits list\nventdue visits list maple --all\nventdue visits list --technician ines --json",
	"visits show":      "ventdue visits show 0198a1b2",
	"visits freeze":    "ventdue visits freeze 0198a1b2",
	"visits thaw":      "ventdue visits thaw 0198a1b2",
	"visits book":      "ventdue visits book 0198a1b2",
	"visits hold":      "ventdue visits hold 0198a1b2 --for 72h",
	"visits move":      `ventdue visits move 0198a1b2 --on 2026-12-03 --at 09:30 --why "asked for Thursday"`,
	"visits cancel":    "ventdue visits cancel 0198a1b2\nventdue visits cancel 0198a1b2 --door 3B --why \"nobody can be there\"",
	"visits close":     "ventdue visits close 0198a1b2\nventdue visits close 0198a1b2 --shut 3B --refused 4A --why \"nobody opened\"",
	"visits ahead":     "ventdue visits ahead\nventdue visits ahead --picture ahead.svg",
	"visits link":      `ventdue visits link rosa@example.com maple house`,
	"technician":       "ventdue technician list\nventdue technician set \"Ines Ferro\" --email ines@example.com --hours \"mon-fri 08:00-16:30\" --skill gas",
	"technician list":  "ventdue technician list\nventdue technician list --json",
	"account add":      "ventdue account add \"Ida Lund\" --role owner\nventdue account add Per --role technician --person per@example.com",
	"account list":     "ventdue account list",
	"account password": "ventdue account password Per\nventdue account password Per < password.txt",
	"account remove":   "ventdue account remove Per",
	"token":            "ventdue token make till --scope record\nventdue token list",
	"token list":       "ventdue token list",
	"token revoke":     "ventdue token revoke 0198a1b2-77c0-7a10-8000-2f1d5c3a9e04",
	"feed":             "ventdue feed make --site \"Maple House\"\nventdue feed list",
	"feed list":        "ventdue feed list\nventdue feed list --json",
	"mail":             "ventdue mail why\nventdue mail test office@example.com --look",
	"mail why":         "ventdue mail why\nventdue mail why rosa@example.com",
	"mail test":        "ventdue mail test office@example.com\nventdue mail test office@example.com --look",
	"mail bounce":      "ventdue mail bounce < returned.eml\nventdue mail bounce ~/Maildir/new",
	"backup":           "ventdue backup\nventdue backup --name before-spring.db",
	"verify":           "ventdue verify\nventdue verify --json",
	"restore":          "ventdue restore backup/before-spring.db",
	"erase":            "ventdue erase rosa@example.com\nventdue erase rosa@example.com --yes",
	"status":           "ventdue status\nventdue status --json",
	"healthcheck":      "ventdue healthcheck",
	"version":          "ventdue version",
}

// exemplify gives the commands without an example of their own theirs.
func exemplify(c *cobra.Command) {
	for _, sub := range c.Commands() {
		if sub.Example == "" {
			if of := examples[strings.TrimPrefix(sub.CommandPath(), "ventdue ")]; of != "" {
				sub.Example = "  " + strings.ReplaceAll(of, "\n", "\n  ")
			}
		}
		exemplify(sub)
	}
}
