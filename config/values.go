package config

import (
	"fmt"
	"log/slog"
	"math"
	"net"
	"net/mail"
	"net/netip"
	"net/url"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
	_ "time/tzdata" // zones must load in an empty container too
	"unicode"
)

// value is one place in a Config that can be set from what a file, a variable or a flag gave.
type value struct {
	set func(raw any) error // a refusal, or nil
	get func() string
}

// str takes raw as text. Numbers are not turned into text: YAML reads 0123 as 83, and nobody would find out.
func str(raw any) (string, error) {
	s, ok := raw.(string)
	if !ok {
		return "", refuse("is not text", "put it in quotes")
	}
	if strings.ContainsFunc(s, unicode.IsControl) {
		return "", refuse("holds a line break or another control character", "write it on one line")
	}
	return strings.TrimSpace(s), nil
}

// checked is a text that check accepts and may put into its usual form.
func checked(p *string, check func(string) (string, error)) value {
	return value{
		set: func(raw any) error {
			s, err := str(raw)
			if err == nil {
				s, err = check(s)
			}
			if err == nil {
				*p = s
			}
			return err
		},
		get: func() string { return *p },
	}
}

// optional lets "" through and leaves everything else to check.
func optional(check func(string) (string, error)) func(string) (string, error) {
	return func(s string) (string, error) {
		if s == "" {
			return "", nil
		}
		return check(s)
	}
}

func anyText(s string) (string, error) { return s, nil }

func notEmpty(s string) (string, error) {
	if s == "" {
		return "", refuse("is empty", "write a value, or leave the setting out to have its default")
	}
	return s, nil
}

func path(s string) (string, error) {
	switch {
	case s == "":
		return notEmpty(s)
	case strings.HasPrefix(s, "~"):
		return "", refuse("begins with ~, which only a shell understands", "write the whole path")
	}
	return filepath.Clean(s), nil
}

func oneOf(choices ...string) func(string) (string, error) {
	return func(s string) (string, error) {
		for _, c := range choices {
			if strings.EqualFold(s, c) {
				return c, nil
			}
		}
		return "", refuse("is not known", "write one of %s", strings.Join(choices, ", "))
	}
}

var hostName = regexp.MustCompile(`^[A-Za-z0-9_]([A-Za-z0-9_.-]{0,251}[A-Za-z0-9.])?$`)

func isHost(s string) bool {
	_, err := netip.ParseAddr(s)
	return err == nil || hostName.MatchString(s)
}

// host is a name or address without scheme and port.
func host(s string) (string, error) {
	if strings.Contains(s, "://") {
		return "", refuse("is an address with a scheme", `write the bare name, as in "mail.example.com"`)
	}
	if _, _, err := net.SplitHostPort(s); err == nil && !isHost(s) {
		return "", refuse("holds a port", "write the bare name here and the port in mail.port")
	}
	if !isHost(s) {
		return "", refuse("is not a host name", `write it as in "mail.example.com"`)
	}
	return s, nil
}

// listen is host:port; without a host it is every address of the machine.
func listen(s string) (string, error) {
	const remedy = `write host:port, as in "127.0.0.1:8017"`
	h, p, err := net.SplitHostPort(s)
	if err != nil {
		return "", refuse("is not host and port", remedy)
	}
	if h != "" && !isHost(h) {
		return "", refuse("has no valid host before the colon", remedy)
	}
	if n, err := strconv.ParseUint(p, 10, 16); err != nil || p != strconv.FormatUint(n, 10) {
		return "", refuse("has no port from 0 to 65535 after the colon", remedy)
	}
	return s, nil
}

// isLoopback reports whether a host can be reached from this machine alone.
func isLoopback(h string) bool {
	if strings.EqualFold(strings.TrimSuffix(h, "."), "localhost") {
		return true
	}
	a, err := netip.ParseAddr(h)
	return err == nil && a.Unmap().IsLoopback()
}

// webAddress is an http or https address that paths can be added to.
func webAddress(s string) (string, error) {
	const remedy = `write it as in "https://vents.example.com"`
	u, err := url.Parse(s)
	switch {
	case err != nil || u.Host == "" || (u.Scheme != "http" && u.Scheme != "https"):
		return "", refuse("is not a web address", remedy)
	case u.User != nil:
		return "", refuse("holds a user name or password", remedy)
	case u.RawQuery != "" || u.ForceQuery || u.Fragment != "" || strings.Contains(s, "#"):
		return "", refuse("holds a ? or # part", remedy)
	case !isHost(u.Hostname()):
		return "", refuse("has no valid host", remedy)
	}
	return strings.TrimRight(s, "/"), nil
}

// mailbox is one e-mail address, with or without a name.
func mailbox(s string) (string, error) {
	a, err := mail.ParseAddress(s)
	if err != nil || !strings.Contains(a.Address, "@") {
		return "", refuse("is not an e-mail address", `write it as in "Vent Service <service@example.com>"`)
	}
	return s, nil
}

// bareMailbox is one e-mail address without a name.
func bareMailbox(s string) (string, error) {
	a, err := mail.ParseAddress(s)
	if err != nil || a.Address != s {
		return "", refuse("is not a bare e-mail address", `write it as in "bounces@example.com"`)
	}
	return s, nil
}

// hookAddress is an http or https address to which something can be posted; it may have a path and a question.
func hookAddress(s string) (string, error) {
	const remedy = `write it as in "https://gateway.example.com/ventdue"`
	u, err := url.Parse(s)
	switch {
	case err != nil || u.Host == "" || (u.Scheme != "http" && u.Scheme != "https"):
		return "", refuse("is not a web address", remedy)
	case u.User != nil:
		return "", refuse("holds a user name or password", "let the receiver check the signature instead")
	case u.Fragment != "" || strings.Contains(s, "#") || !isHost(u.Hostname()):
		return "", refuse("is not a web address that can be posted to", remedy)
	}
	return s, nil
}

// duration refuses a bare number: the one who writes 30 means something, but who knows what.
func duration(p *time.Duration, least, most time.Duration) value {
	return value{
		set: func(raw any) error {
			s := strings.TrimSpace(fmt.Sprint(raw))
			if _, err := strconv.ParseFloat(s, 64); err == nil {
				return refuse("is a number without a unit", `write "%[1]ss", "%[1]sm" or "%[1]sh" for seconds, minutes or hours`, s)
			}
			d, err := time.ParseDuration(s)
			if err != nil {
				return refuse("is not a duration", `write a number and its unit, as in "90s", "15m" or "1h30m"`)
			}
			if d < least || d > most {
				return refuse("is out of range", "write %v to %v", least, most)
			}
			*p = d
			return nil
		},
		get: func() string { return p.String() },
	}
}

func integer(p *int, least, most int) value {
	return value{
		set: func(raw any) error {
			n, err := strconv.Atoi(strings.TrimSpace(fmt.Sprint(raw)))
			if err != nil {
				return refuse("is not a whole number", "write %d to %d", least, most)
			}
			if n < least || n > most {
				return refuse("is out of range", "write %d to %d", least, most)
			}
			*p = n
			return nil
		},
		get: func() string { return strconv.Itoa(*p) },
	}
}

// number is a plain number in a range.
func number(p *float64, least, most float64) value {
	return value{
		set: func(raw any) error {
			f, err := strconv.ParseFloat(strings.TrimSpace(fmt.Sprint(raw)), 64)
			if err != nil || math.IsNaN(f) {
				return refuse("is not a number", "write %v to %v", least, most)
			}
			if f < least || f > most {
				return refuse("is out of range", "write %v to %v", least, most)
			}
			*p = f
			return nil
		},
		get: func() string { return strconv.FormatFloat(*p, 'f', -1, 64) },
	}
}

// fraction is a share, written 0.1 or 10%.
func fraction(p *float64, most float64) value {
	return value{
		set: func(raw any) error {
			s, percent := strings.CutSuffix(strings.TrimSpace(fmt.Sprint(raw)), "%")
			f, err := strconv.ParseFloat(strings.TrimSpace(s), 64)
			if percent {
				f /= 100
			}
			if err != nil || math.IsNaN(f) || f <= 0 || f > most {
				return refuse("is not a share in range", `write more than 0 and at most %v, as in 0.05 or "5%%"`, most)
			}
			*p = f
			return nil
		},
		get: func() string { return strconv.FormatFloat(*p, 'f', -1, 64) },
	}
}

func boolean(p *bool) value {
	return value{
		set: func(raw any) error {
			switch strings.ToLower(strings.TrimSpace(fmt.Sprint(raw))) {
			case "true", "yes", "on":
				*p = true
			case "false", "no", "off":
				*p = false
			default:
				return refuse("is neither true nor false", "write true or false")
			}
			return nil
		},
		get: func() string { return strconv.FormatBool(*p) },
	}
}

func level(p *slog.Level) value {
	return value{
		set: func(raw any) error {
			s, err := str(raw)
			if err == nil {
				s, err = oneOf("debug", "info", "warn", "error")(s)
			}
			if err == nil {
				err = p.UnmarshalText([]byte(s))
			}
			return err
		},
		get: func() string { return strings.ToLower(p.String()) },
	}
}

func zone(p **time.Location) value {
	return value{
		set: func(raw any) error {
			s, err := str(raw)
			if err != nil {
				return err
			}
			loc, err := time.LoadLocation(s)
			if err != nil || s == "" || s == "Local" {
				return refuse("is not a time zone", `days and hours of mail are counted in it: write its name in the tz database, such as "America/New_York", "Europe/Lisbon" or "UTC"`)
			}
			*p = loc
			return nil
		},
		get: func() string { return (*p).String() },
	}
}

// networks is a list of addresses and networks; in a variable or flag they stand between commas.
func networks(p *[]netip.Prefix) value {
	return value{
		set: func(raw any) error {
			items, err := list(raw)
			if err != nil {
				return err
			}
			var all []netip.Prefix
			for _, item := range items {
				n, err := network(item)
				if err != nil {
					return err
				}
				all = append(all, n)
			}
			*p = all
			return nil
		},
		get: func() string {
			var all []string
			for _, n := range *p {
				all = append(all, n.String())
			}
			return strings.Join(all, ", ")
		},
	}
}

// mostDays is how many days a list of reminders can have.
const mostDays = 8

// days is a list of days counted from another one, ascending.
func days(p *[]int, least, most int) value {
	return value{
		set: func(raw any) error {
			if numbers, ok := raw.([]any); ok {
				var texts []string
				for _, n := range numbers {
					texts = append(texts, fmt.Sprint(n))
				}
				raw = texts
			}
			items, err := list(raw)
			if err != nil {
				return err
			}
			if len(items) > mostDays {
				return fmt.Errorf("%d days are listed: at most %d", len(items), mostDays)
			}
			var all []int
			for _, item := range items {
				n, err := strconv.Atoi(item)
				if err != nil || n < least || n > most {
					return fmt.Errorf("%q is not a number of days from %d to %d", item, least, most)
				}
				if len(all) > 0 && n <= all[len(all)-1] {
					return fmt.Errorf("%d does not come after %d: list the days from the earliest to the latest", n, all[len(all)-1])
				}
				all = append(all, n)
			}
			*p = all
			return nil
		},
		get: func() string {
			var all []string
			for _, n := range *p {
				all = append(all, strconv.Itoa(n))
			}
			return strings.Join(all, ", ")
		},
	}
}

func network(s string) (netip.Prefix, error) {
	n, err := netip.ParsePrefix(s)
	if a, errAddr := netip.ParseAddr(s); errAddr == nil && a.Zone() == "" {
		a = a.Unmap()
		n, err = netip.PrefixFrom(a, a.BitLen()), nil
	}
	switch {
	case err != nil:
		return n, refuse(fmt.Sprintf("holds %s, which is no address or network", show(s)), `write them as in "10.0.0.7" or "10.1.0.0/16"`)
	case n.Bits() == 0:
		return n, refuse("trusts everybody", "name the proxies that stand in front of this server")
	}
	return n.Masked(), nil
}

// list takes a list, or text with commas.
func list(raw any) ([]string, error) {
	var items []string
	switch raw := raw.(type) {
	case string:
		items = strings.Split(raw, ",")
	case []string:
		items = raw
	case []any:
		for _, r := range raw {
			s, err := str(r)
			if err != nil {
				return nil, err
			}
			items = append(items, s)
		}
	default:
		return nil, refuse("is not a list", `write it as in ["10.0.0.7", "10.1.0.0/16"]`)
	}
	var all []string
	for _, s := range items {
		if s = strings.TrimSpace(s); s != "" {
			all = append(all, s)
		}
	}
	return all, nil
}

// Window is a part of the day, in minutes after midnight; To is later than From and at most 24:00.
type Window struct{ From, To int }

func (w Window) String() string {
	return fmt.Sprintf("%02d:%02d-%02d:%02d", w.From/60, w.From%60, w.To/60, w.To%60)
}

var windowForm = regexp.MustCompile(`^(\d\d):(\d\d)\s*-\s*(\d\d):(\d\d)$`)

func window(p *Window) value {
	return value{
		set: func(raw any) error {
			const remedy = `write it as in "08:00-18:00"`
			s, err := str(raw)
			if err != nil {
				return err
			}
			m := windowForm.FindStringSubmatch(s)
			if m == nil {
				return refuse("is not a part of the day", remedy)
			}
			var n [4]int
			for i := range n {
				n[i], _ = strconv.Atoi(m[i+1]) // two digits, by the pattern
			}
			w := Window{From: n[0]*60 + n[1], To: n[2]*60 + n[3]}
			if n[1] > 59 || n[3] > 59 || w.To > 24*60 || w.From >= w.To {
				return refuse("does not end after it begins, within one day", remedy)
			}
			*p = w
			return nil
		},
		get: func() string { return p.String() },
	}
}

// optionalWindow is a part of the day or "".
func optionalWindow(p *Window) value {
	v := window(p)
	return value{
		set: func(raw any) error {
			if s, err := str(raw); err == nil && strings.TrimSpace(s) == "" {
				*p = Window{}
				return nil
			}
			return v.set(raw)
		},
		get: func() string {
			if *p == (Window{}) {
				return ""
			}
			return v.get()
		},
	}
}

// weekdays is a list of days of the week by their first three letters, as in [sat, sun]; empty for none.
func weekdays(p *[]time.Weekday) value {
	short := func(d time.Weekday) string { return strings.ToLower(d.String()[:3]) }
	return value{
		set: func(raw any) error {
			items, err := list(raw)
			if err != nil {
				return err
			}
			var all []time.Weekday
			for _, item := range items {
				found := false
				for d := time.Sunday; d <= time.Saturday; d++ {
					if name := strings.ToLower(strings.TrimSpace(item)); name == short(d) || name == strings.ToLower(d.String()) {
						found = true
						if !slices.Contains(all, d) {
							all = append(all, d)
						}
					}
				}
				if !found {
					return refuse(fmt.Sprintf("%.20q is no day of the week", item), "list days as in [sat, sun]")
				}
			}
			slices.Sort(all)
			*p = all
			return nil
		},
		get: func() string {
			var names []string
			for _, d := range *p {
				names = append(names, short(d))
			}
			return strings.Join(names, ", ")
		},
	}
}
