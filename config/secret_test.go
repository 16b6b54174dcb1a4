package config

import (
	"bytes"
	"encoding/json"
	"fmt"
	"log/slog"
	"strings"
	"testing"
)

const hunter = "hunter22-sesame"

func TestSecretIsNeverPrinted(t *testing.T) {
	c := mustLoad(t, "", "VENTDUE_WEB_PASSWORD="+hunter, "VENTDUE_WEB_TOKEN="+hunter+hunter)
	if c.Web.Password.Reveal() != hunter {
		t.Fatalf("password %q", c.Web.Password.Reveal())
	}
	hidden := struct{ c Config }{c} // fmt does not ask the methods of what is not exported
	var out bytes.Buffer
	for _, verb := range []string{"%v", "%+v", "%#v", "%s", "%q", "%x", "%d", "%T %v"} {
		fmt.Fprintf(&out, verb+"\n", c)
		fmt.Fprintf(&out, verb+"\n", c.Web)
		fmt.Fprintf(&out, verb+"\n", &c.Web)
		fmt.Fprintf(&out, verb+"\n", c.Web.Password)
		fmt.Fprintf(&out, verb+"\n", hidden)
	}
	if err := json.NewEncoder(&out).Encode(c.Web); err != nil {
		t.Fatal(err)
	}
	slog.New(slog.NewTextHandler(&out, nil)).Info("x", "web", c.Web, "password", c.Web.Password)
	slog.New(slog.NewJSONHandler(&out, nil)).Info("x", "web", c.Web, "password", c.Web.Password)
	fmt.Fprintln(&out, Diff(mustLoad(t, ""), c))
	text := out.String()
	if strings.Contains(text, "hunter") || strings.Contains(text, fmt.Sprintf("%x", "hunter")) {
		t.Errorf("a secret is printed:\n%s", text)
	}
	if !strings.Contains(text, "[set]") || !strings.Contains(text, "[not set]") {
		t.Error("nothing says whether it is set")
	}
}

func TestSecretFromAFile(t *testing.T) {
	for text, want := range map[string]string{
		hunter: hunter, hunter + "\n": hunter, hunter + "\r\n": hunter, " " + hunter + " \n": " " + hunter + " ",
	} {
		name := write(t, "secret", text)
		for what, load := range map[string]func() Config{
			"environment": func() Config { return mustLoad(t, "", "VENTDUE_WEB_PASSWORD_FILE="+name) },
			"file":        func() Config { return mustLoad(t, "web: {password_file: "+name+"}") },
		} {
			if got := load().Web.Password.Reveal(); got != want {
				t.Errorf("%s, %q: %q, want %q", what, text, got, want)
			}
		}
	}
}

func TestSecretGivenTwice(t *testing.T) {
	inFile := write(t, "secret", "from-a-file")
	refuses(t, "web: {password: "+hunter+", password_file: "+inFile+"}", nil, "web.password", "both given")
	refuses(t, "", []string{"VENTDUE_WEB_PASSWORD=" + hunter, "VENTDUE_WEB_PASSWORD_FILE=" + inFile}, "web.password", "both given", "environment")
	refuses(t, "web: {password: "+hunter+", password_hash: x}", nil, "web.password_hash", "both given")

	// Across places the usual precedence holds.
	c := mustLoad(t, "web: {password: "+hunter+"}", "VENTDUE_WEB_PASSWORD_FILE="+inFile)
	if got := c.Web.Password.Reveal(); got != "from-a-file" {
		t.Errorf("password %q, want the environment's", got)
	}
	c = mustLoad(t, "web: {password_file: "+inFile+"}", "VENTDUE_WEB_PASSWORD="+hunter)
	if got := c.Web.Password.Reveal(); got != hunter {
		t.Errorf("password %q, want the environment's", got)
	}
}

func TestBadSecrets(t *testing.T) {
	for _, c := range []struct{ yaml, key, says string }{
		{"web: {password_file: /nowhere/secret}", "web.password_file", "no such file"},
		{"web: {password_file: " + t.TempDir() + "}", "web.password_file", "directory"},
		{"web: {password_file: " + write(t, "e", "\n") + "}", "web.password_file", "is empty"},
		{"web: {password_file: " + write(t, "l", strings.Repeat("x", 5000)) + "}", "web.password_file", "more than 4096 bytes"},
		{"web: {password_file: " + write(t, "m", hunter+"\n"+hunter+"\n") + "}", "web.password", "more than one line"},
		{"web: {password_file: 7}", "web.password_file", "not text"},
		{"web: {password: 0123}", "web.password", "put it in quotes"}, // YAML would read 83
		{"web: {password: short}", "web.password", "8 characters"},
		{"web: {password_hash: sha1-of-it}", "web.password_hash", "bcrypt"},
		{"web: {token: guess-me}", "web.token", "20 random"},
	} {
		refuses(t, c.yaml, nil, c.key, c.says)
	}
	// The form of a bcrypt hash: $2b$, cost, 22 letters of salt and 31 of hash. This one is from no password.
	mustLoad(t, "web: {listen: ':8017', password_hash: '$2b$12$"+strings.Repeat("a", 53)+"'}")
}

// Whatever is wrong with the place a secret stands in, the message must not cite it.
func TestErrorsCiteNoSecret(t *testing.T) {
	for _, yaml := range []string{
		hunter,                               // not a table at all
		"mail: {password: *" + hunter + "}",  // an alias nobody defined
		"mail: {password: !" + hunter + " x", // a tag, and a brace missing
		"mail: {password: {" + hunter + "}}", // read as a table
		"mail: {password: [" + hunter + "]}",
		"mail: {pasword: " + hunter + "}",
		"mail: {password: \"" + hunter + "}",
		"mail:\n  password: \"\\" + hunter + "\"\n",
		"mail:\n  password: @" + hunter + "\n",
		"mail:\n  password: '" + hunter + "' x\n",
		"mail: {password: |-\n  " + hunter + "\n  x}",
		"web: {password: " + hunter[:3] + "}",
		"web: {token: " + hunter + "}",
		"web: {password_hash: " + hunter + "}",
		"web: {base_url: 'https://mira:" + hunter + "@vents.example.com'}",
		"web: {base_url: 'https://mira:a/" + hunter + "@vents.example.com'}",
		"mail: {host: 'smtp://mira:" + hunter + "@mail.example.com'}",
		"mail: {host: 'mira:" + hunter + "@mail.example.com'}",
	} {
		_, err := load(t, yaml)
		if err == nil {
			t.Errorf("%q is taken", yaml)
		} else if strings.Contains(err.Error(), "hunter") || strings.Contains(err.Error(), "sesame") {
			t.Errorf("%q: %v", yaml, err)
		}
	}
	for _, env := range []string{"VENTDUE_MAIL_PASWORD=" + hunter, "VENTDUE_WEB_TOKEN=" + hunter, "VENTDUE_WEB_PASSWORD=" + hunter + "\n" + hunter} {
		_, err := load(t, "", env)
		if err == nil {
			t.Errorf("%q is taken", env)
		} else if strings.Contains(err.Error(), "hunter") {
			t.Errorf("%q: %v", env, err)
		}
	}
	for _, toml := range []string{"password = " + hunter, "[mail]\npassword = '" + hunter, hunter + " = [", "[mail]\npassword = \"\\" + hunter + "\""} {
		_, err := Load(Options{File: write(t, "v.toml", toml), Env: machine})
		if err == nil || strings.Contains(err.Error(), "hunter") {
			t.Errorf("%q: %v", toml, err)
		}
	}
}

func TestNearest(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want int
	}{ // by hand
		{"", "", 0}, {"abc", "", 3}, {"", "abc", 3}, {"host", "hsot", 1}, {"kitten", "sitting", 3}, {"ca", "abc", 3},
	} {
		if got := distance(c.a, c.b); got != c.want {
			t.Errorf("distance(%q, %q) = %d, want %d", c.a, c.b, got, c.want)
		}
	}
}

func FuzzLoad(f *testing.F) {
	f.Add(string(Example()), "VENTDUE_WEB_LISTEN=:80")
	f.Add("mail: {timeout: 30}", "VENTDUE_X")
	f.Add("a: &a [*a]", "=")
	f.Fuzz(func(t *testing.T, yaml, env string) {
		c, err := load(t, yaml, env)
		if err == nil && (c.Data == "" || c.Mail.Port == 0 || c.Zone == nil || c.Web.BaseURL == "") {
			t.Errorf("incomplete: %s", c)
		}
	})
}
