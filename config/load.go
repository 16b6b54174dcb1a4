package config

import (
	"errors"
	"fmt"
	"os"
	"slices"
	"strings"
	"time"

	"github.com/spf13/pflag"
	"github.com/spf13/viper"
)

// Options say where Load looks.
type Options struct {
	// File is the settings file asked for, .yaml, .yml or .toml; it must exist. "" takes VENTDUE_CONFIG from Env and, if that
	// is not set either, the first of Search that exists, if any.
	File string
	// Search are the places of a file nobody asked for; nil means DefaultFiles(Env), an empty slice none.
	Search []string
	// Env are the variables, as os.Environ gives them. The process's own are not looked at.
	Env []string
	// Flags are settings from the command line, by FlagName; only those the user gave count, and those that
	// are no setting are not looked at. May be nil.
	Flags *pflag.FlagSet
	// CheckSpec says whether a cron spec can be used; nil takes any that is not empty.
	CheckSpec func(spec string, zone *time.Location) error
	// CheckHours says whether hours of the week can be read; nil takes any.
	CheckHours func(hours string) error
}

// Load reads, merges and checks all settings. The error is Problems, holding everything that is wrong, when the places could
// be read; otherwise it says which file could not be read or parsed. No error ever holds a secret.
func Load(o Options) (Config, error) {
	l := &loader{vars: splitEnv(o.Env), origins: map[string]string{}, v: viper.New()}
	c := defaults(l.vars)
	l.all = c.settings()
	file, err := l.readFile(o)
	if err != nil {
		return Config{}, fmt.Errorf("settings: %w", err)
	}
	c.File = file
	fromEnv := l.fromEnv()
	l.secretsOfOneLayer(l.fileValues, fromEnv)
	l.merge(l.fileValues)
	l.merge(fromEnv)
	l.bindFlags(o.Flags)
	for _, s := range l.all {
		l.apply(s)
	}
	l.problems = append(l.problems, c.finish(l, o)...)
	if len(l.problems) > 0 {
		return Config{}, l.sorted()
	}
	return c, nil
}

// FlagName is the name of the flag for a setting: "mail.per_connection" is --mail-per-connection.
func FlagName(key string) string { return strings.NewReplacer(".", "-", "_", "-").Replace(key) }

// EnvName is the name of the environment variable for a setting: "mail.per_connection" is VENTDUE_MAIL_PER_CONNECTION.
func EnvName(key string) string {
	return envPrefix + strings.ToUpper(strings.ReplaceAll(key, ".", "_"))
}

// AddFlags defines flags for the given settings, to be handed to Load. A key that is unknown, or a secret (which every user of
// the machine could see in the list of processes), is a mistake of the caller and panics.
func AddFlags(fs *pflag.FlagSet, keys ...string) {
	c := defaults(nil)
	all := c.settings()
	for _, key := range keys {
		i := slices.IndexFunc(all, func(s setting) bool { return s.key == key && s.secret == nil })
		if i < 0 {
			panic("config.AddFlags: no setting for a flag: " + key)
		}
		fs.String(FlagName(key), "", all[i].usage)
	}
}

// loader gathers what the places say, and what is wrong with it.
type loader struct {
	all        []setting
	v          *viper.Viper      // flags over environment over file
	vars       map[string]string // all environment variables
	fileValues map[string]any    // known keys of the file
	origins    map[string]string // where the value of a key comes from
	problems   Problems
}

func (l *loader) add(p Problem) { l.problems = append(l.problems, p) }

// origin returns where the value of a key comes from.
func (l *loader) origin(key string) string {
	if o, ok := l.origins[key]; ok {
		return o
	}
	return "default"
}

// names returns every key that may be set, the names of files for secrets among them.
func (l *loader) names() []string {
	var names []string
	for _, s := range l.all {
		names = append(names, s.key)
		if s.secret != nil {
			names = append(names, s.key+secretFile)
		}
	}
	return names
}

// secretsOfOneLayer lets the higher place win where one gives a secret and the other the file that holds it: to give both
// is a mistake only within one place.
func (l *loader) secretsOfOneLayer(lower, higher map[string]any) {
	for _, s := range l.all {
		if s.secret == nil {
			continue
		}
		_, text := higher[s.key]
		_, file := higher[s.key+secretFile]
		if text && !file {
			delete(lower, s.key+secretFile)
			delete(l.origins, s.key+secretFile)
		}
		if file && !text {
			delete(lower, s.key)
			delete(l.origins, s.key)
		}
	}
}

// merge lays values over those of the layers before. The environment comes in this way too, because viper's own reading of it
// sees the process's variables, of which it misses every one whose key has no default.
func (l *loader) merge(values map[string]any) {
	nested := map[string]any{}
	for key, v := range values {
		group, rest, ok := strings.Cut(key, ".")
		if !ok {
			nested[key] = v
			continue
		}
		if nested[group] == nil {
			nested[group] = map[string]any{}
		}
		nested[group].(map[string]any)[rest] = v
	}
	_ = l.v.MergeConfigMap(nested) // never fails, says its source
}

// bindFlags lays the flags that were given over everything else.
func (l *loader) bindFlags(flags *pflag.FlagSet) {
	if flags == nil {
		return
	}
	for _, s := range l.all {
		f := flags.Lookup(FlagName(s.key))
		if f == nil || !f.Changed {
			continue
		}
		origin := "flag --" + f.Name
		if s.secret != nil {
			l.add(Problem{Key: s.key, Origin: origin, Why: "a secret on the command line can be seen by every user of this machine",
				Remedy: "put it into a file and name that in " + EnvName(s.key+secretFile)})
			continue
		}
		l.origins[s.key] = origin
		_ = l.v.BindPFlag(s.key, f) // fails for a nil flag only
	}
}

// apply puts the winning value of a setting into its place.
func (l *loader) apply(s setting) {
	if s.secret != nil {
		l.applySecret(s)
		return
	}
	raw := l.v.Get(s.key)
	if raw == nil {
		return
	}
	if err := s.set(raw); err != nil {
		l.reject(s.key, show(raw), err)
	}
}

// reject notes a refusal of what was given for key.
func (l *loader) reject(key, value string, err error) {
	p := Problem{Key: key, Value: value, Origin: l.origin(key), Why: err.Error(), Remedy: "see the example file"}
	var r refusal
	if errors.As(err, &r) {
		p.Why, p.Remedy = r.why, r.remedy
	}
	l.add(p)
}

// applySecret takes a secret as it stands or from the file that is named for it.
func (l *loader) applySecret(s setting) {
	text, file := l.v.Get(s.key), l.v.Get(s.key+secretFile)
	if text != nil && file != nil {
		l.add(Problem{Key: s.key, Origin: l.origin(s.key), Why: "the secret and a file that holds it are both given", Remedy: "keep one of them"})
		return
	}
	if file != nil {
		name, err := str(file)
		if err == nil {
			name, err = path(name)
		}
		if err == nil {
			text, err = readSecret(name)
		}
		if err != nil {
			l.reject(s.key+secretFile, show(file), err)
			return
		}
		l.origins[s.key] = l.origin(s.key + secretFile)
	}
	if text == nil {
		return
	}
	plain, ok := text.(string)
	if !ok {
		l.add(Problem{Key: s.key, Origin: l.origin(s.key), Why: "is not text", Remedy: "put it in quotes"})
		return
	}
	if strings.ContainsAny(plain, "\x00\r\n") {
		l.add(Problem{Key: s.key, Origin: l.origin(s.key), Why: "holds more than one line", Remedy: "write the secret alone, on one line"})
		return
	}
	*s.secret = NewSecret(plain)
}

// maxSecret bounds a secret; a longer file is surely another file.
const maxSecret = 4096

// readSecret returns what a file holds, less one line end.
func readSecret(name string) (string, error) {
	b, err := readBounded(name, maxSecret)
	if err != nil {
		return "", refuse(err.Error(), "name a file that the service may read")
	}
	text, _ := strings.CutSuffix(string(b), "\n")
	text, _ = strings.CutSuffix(text, "\r")
	if text == "" {
		return "", refuse("the file is empty", "write the secret into it")
	}
	return text, nil
}

// sorted returns the problems, unknown names first, then in the order of the example file.
func (l *loader) sorted() Problems {
	names := l.names()
	slices.SortStableFunc(l.problems, func(a, b Problem) int {
		return slices.Index(names, a.Key) - slices.Index(names, b.Key)
	})
	return l.problems
}

// splitEnv makes a map of NAME=value lines; the last of a name counts.
func splitEnv(env []string) map[string]string {
	vars := map[string]string{}
	for _, line := range env {
		if name, v, ok := strings.Cut(line, "="); ok {
			vars[name] = v
		}
	}
	return vars
}

func isFile(name string) bool {
	info, err := os.Stat(name)
	return err == nil && !info.IsDir()
}
