package config

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"github.com/spf13/viper"
)

const (
	envPrefix = "VENTDUE_"
	// envFile names the settings file; it is no setting itself.
	envFile = envPrefix + "CONFIG"
	maxFile = 1 << 20
)

// DefaultFiles returns where a settings file is looked for when none is named: ventdue.yaml, .yml or .toml in systemd's
// CONFIGURATION_DIRECTORY, in XDG_CONFIG_HOME/ventdue or ~/.config/ventdue, and in /etc/ventdue.
func DefaultFiles(env []string) []string {
	vars := splitEnv(env)
	var dirs []string
	if d, _, _ := strings.Cut(vars["CONFIGURATION_DIRECTORY"], ":"); d != "" {
		dirs = append(dirs, d)
	}
	if d := vars["XDG_CONFIG_HOME"]; filepath.IsAbs(d) {
		dirs = append(dirs, filepath.Join(d, "ventdue"))
	} else if home := vars["HOME"]; home != "" {
		dirs = append(dirs, filepath.Join(home, ".config", "ventdue"))
	}
	dirs = append(dirs, "/etc/ventdue")
	var files []string
	for _, d := range dirs {
		for _, ext := range []string{".yaml", ".yml", ".toml"} {
			files = append(files, filepath.Join(d, "ventdue"+ext))
		}
	}
	return files
}

// readFile finds and reads the settings file and returns its name, "" if there is none.
func (l *loader) readFile(o Options) (string, error) {
	name := o.File
	if name == "" {
		name = l.vars[envFile]
	}
	if name == "" {
		search := o.Search
		if search == nil {
			search = DefaultFiles(o.Env)
		}
		i := slices.IndexFunc(search, isFile)
		if i < 0 {
			return "", nil
		}
		name = search[i]
	}
	kind := strings.TrimPrefix(strings.ToLower(filepath.Ext(name)), ".")
	if !slices.Contains([]string{"yaml", "yml", "toml"}, kind) {
		return "", fmt.Errorf("file %s: cannot tell its form; give it a name that ends in .yaml or .toml", name)
	}
	b, err := readBounded(name, maxFile)
	if err != nil {
		return "", fmt.Errorf("file %s: %w; name one that exists and can be read", name, err)
	}
	f, err := parse(bytes.TrimPrefix(b, []byte("\ufeff")), kind)
	if err != nil {
		return "", fmt.Errorf("file %s is not valid %s: %s; mend it, or compare it with the example file", name, kind, quoteless(err))
	}
	l.takeFile(f, "file "+name)
	return name, nil
}

// parse reads YAML or TOML with viper's own decoders, but not through its ReadConfig, which takes keys that differ in case for
// one and lets chance pick the value. What follows the first document of a YAML file would be ignored: it is refused.
func parse(text []byte, kind string) (*viper.Viper, error) {
	decoder, err := viper.NewCodecRegistry().Decoder(kind)
	if err != nil {
		return nil, err
	}
	values := map[string]any{}
	if err := decoder.Decode(text, values); err != nil {
		return nil, err
	}
	if key := caseClash(values); key != "" {
		return nil, fmt.Errorf("%s stands in it twice, in capital and small letters", key)
	}
	if kind != "toml" && secondDocument(text) {
		return nil, errors.New("it holds more than one document, and only the first would count")
	}
	f := viper.New()
	return f, f.MergeConfigMap(values)
}

// caseClash returns a key that differs from another one beside it in case alone, or "".
func caseClash(values map[string]any) string {
	seen := map[string]bool{}
	for key, v := range values {
		lower := strings.ToLower(key)
		if seen[lower] {
			return lower
		}
		seen[lower] = true
		if below, ok := v.(map[string]any); ok {
			if clash := caseClash(below); clash != "" {
				return lower + "." + clash
			}
		}
	}
	return ""
}

// secondDocument reports whether a document marker, which can only stand at the begin of a line, comes after content.
func secondDocument(yaml []byte) bool {
	content, ended := false, false
	for line := range strings.Lines(string(yaml)) {
		line = strings.TrimRight(line, " \t\r\n")
		switch {
		case line == "" || line[0] == '#' || line[0] == '%':
		case line == "...":
			ended = true
		case ended || (content && (line == "---" || strings.HasPrefix(line, "--- "))):
			return true
		default:
			content = content || line != "---"
		}
	}
	return false
}

// takeFile keeps the settings of a parsed file and refuses all else in it by name. It never shows a value: whoever misspells the
// name of a password has still written a password beside it.
func (l *loader) takeFile(f *viper.Viper, origin string) {
	l.fileValues = map[string]any{}
	names := l.names()
	keys := f.AllKeys()
	slices.Sort(keys)
	for _, key := range keys {
		raw := f.Get(key)
		switch under := above(key, names); {
		case slices.Contains(names, key):
			if raw != nil { // "key:" alone is as good as no key
				l.fileValues[key] = raw
				l.origins[key] = origin
			}
		case under != "":
			l.add(Problem{Key: under, Origin: origin, Why: "is a table of settings, not a value", Remedy: "write one value; put text in quotes"})
		case slices.ContainsFunc(names, func(n string) bool { return strings.HasPrefix(n, key+".") }):
			if raw != nil { // a heading with nothing, or only comments, under it is fine
				l.add(Problem{Key: key, Origin: origin, Why: "is a group of settings, not a setting", Remedy: "write its settings below it, indented"})
			}
		default:
			l.add(unknown(key, origin, nearest(key, names)))
		}
	}
}

// above returns the setting that key lies below, or "".
func above(key string, names []string) string {
	i := slices.IndexFunc(names, func(n string) bool { return strings.HasPrefix(key, n+".") })
	if i < 0 {
		return ""
	}
	return names[i]
}

// unknown is the problem of a name that is no setting.
func unknown(name, origin, meant string) Problem {
	p := Problem{Key: name, Origin: origin, Why: "there is no such setting", Remedy: "remove it, or see the example file for the names"}
	if meant != "" {
		p.Remedy = "did you mean " + meant + "?"
	}
	return p
}

// fromEnv returns the settings in the environment and refuses every other VENTDUE_ variable. An empty one counts as not set.
func (l *loader) fromEnv() map[string]any {
	values := map[string]any{}
	var known []string
	for _, key := range l.names() {
		name := EnvName(key)
		known = append(known, name)
		if v := l.vars[name]; v != "" {
			values[key] = v
			l.origins[key] = "environment " + name
		}
	}
	var others []string
	for name := range l.vars {
		if strings.HasPrefix(name, envPrefix) && name != envFile && !slices.Contains(known, name) && !linked.MatchString(name) {
			others = append(others, name)
		}
	}
	slices.Sort(others)
	for _, name := range others {
		// Compared as keys: the prefix they share would make all of them look alike.
		key := strings.ToLower(strings.Replace(strings.TrimPrefix(name, envPrefix), "_", ".", 1))
		meant := nearest(key, l.names())
		if meant != "" {
			meant = EnvName(meant)
		}
		l.add(unknown(name, "environment", meant))
	}
	return values
}

// linked are the variables that container platforms make up for a service that happens to be called ventdue.
var linked = regexp.MustCompile(`^VENTDUE_(NAME|SERVICE_HOST|SERVICE_PORT(_[A-Z0-9_]+)?|PORT(_\d+_(TCP|UDP)(_(ADDR|PORT|PROTO))?)?)$`)

// quoted is what parsers cite from the file: it might be a secret.
var quoted = regexp.MustCompile("`[^`]*`|'[^']{2,}'|\"[^\"]*\"")

// quoteless returns the text of a parser's error without what it cites.
func quoteless(err error) string {
	return quoted.ReplaceAllString(strings.Join(strings.Fields(err.Error()), " "), "[...]")
}

// readBounded reads a file that holds at most that many bytes.
func readBounded(name string, most int64) ([]byte, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, bare(err)
	}
	defer func() { _ = f.Close() }()
	b, err := io.ReadAll(io.LimitReader(f, most+1))
	if err != nil {
		return nil, bare(err)
	}
	if int64(len(b)) > most {
		return nil, fmt.Errorf("it holds more than %d bytes", most)
	}
	return b, nil
}

// bare drops the path from an error whose path stands beside it already.
func bare(err error) error {
	var p *os.PathError
	if errors.As(err, &p) {
		return p.Err
	}
	return err
}
