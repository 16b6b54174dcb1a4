package call

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net"
	"net/http"
	"net/url"
	"os"
	"os/user"
	"strconv"
	"syscall"
	"time"

	"golang.org/x/sys/unix"
)

const (
	versionHeader = "Ventdue-Version"
	argsHeader    = "Ventdue-Args"
	failedTrailer = "Ventdue-Failed"
)

// maxArgs is the longest arguments that are sent, in bytes; files travel in the body.
const maxArgs = 512 << 10

// ErrNoDaemon is returned when nobody answers at the socket.
var ErrNoDaemon = errors.New("no daemon answers")

// Listen opens the socket for the user who runs the daemon, and nobody else. A socket that a killed daemon left is
// replaced; whoever holds the data file is the only one who may call Listen.
func Listen(path string) (net.Listener, error) {
	if err := os.Remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("listen on %s: %w", path, err)
	}
	old := syscall.Umask(0o177) // from its first moment on, 0600
	l, err := net.Listen("unix", path)
	syscall.Umask(old)
	if err != nil {
		return nil, fmt.Errorf("listen on %s: %w; a socket's path has at most about 100 letters: set a shorter one", path, err)
	}
	return l, nil
}

type peerKey struct{}

// NewServer makes the server that answers calls on the socket. Version must be the caller's own.
func NewServer(t Table, version string, now func() time.Time) *http.Server {
	mux := http.NewServeMux()
	mux.HandleFunc("POST /{name}", func(w http.ResponseWriter, r *http.Request) {
		serve(w, r, t, version, now)
	})
	return &http.Server{
		Handler:           mux,
		ReadHeaderTimeout: 10 * time.Second,
		MaxHeaderBytes:    maxArgs + 64<<10,
		ConnContext: func(ctx context.Context, c net.Conn) context.Context {
			return context.WithValue(ctx, peerKey{}, peer(c))
		},
	}
}

func serve(w http.ResponseWriter, r *http.Request, t Table, version string, now func() time.Time) {
	if v := r.Header.Get(versionHeader); v != version {
		refuse(w, fmt.Errorf("the daemon is version %s, this command is %s: use the daemon's program, or restart the daemon", version, v))
		return
	}
	h, ok := t[r.PathValue("name")]
	if !ok {
		refuse(w, fmt.Errorf("no operation %q", r.PathValue("name")))
		return
	}
	args, err := url.QueryUnescape(r.Header.Get(argsHeader))
	if err != nil {
		refuse(w, fmt.Errorf("arguments: %w", err))
		return
	}
	actor, _ := r.Context().Value(peerKey{}).(string)
	w.Header().Set("Trailer", failedTrailer)
	out := &lateWriter{w: w}
	if err := h(r.Context(), Request{Actor: actor, Now: now(), Args: json.RawMessage(args), In: r.Body, Out: out}); err != nil {
		if !out.wrote {
			w.Header().Del("Trailer")
			refuse(w, err)
			return
		}
		text, _ := json.Marshal(pack(err))
		w.Header().Set(failedTrailer, url.QueryEscape(string(text)))
	}
}

// lateWriter remembers whether an answer has begun: until then an error can still be the whole answer.
type lateWriter struct {
	w     io.Writer
	wrote bool
}

func (l *lateWriter) Write(b []byte) (int, error) {
	l.wrote = true
	return l.w.Write(b)
}

func refuse(w http.ResponseWriter, err error) {
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(http.StatusUnprocessableEntity)
	_ = json.NewEncoder(w).Encode(pack(err))
}

// peer names who is at the other end, as the kernel says.
func peer(c net.Conn) string {
	u, ok := c.(*net.UnixConn)
	if !ok {
		return "unknown"
	}
	raw, err := u.SyscallConn()
	if err != nil {
		return "unknown"
	}
	name := "unknown"
	_ = raw.Control(func(fd uintptr) {
		if cred, err := unix.GetsockoptUcred(int(fd), unix.SOL_SOCKET, unix.SO_PEERCRED); err == nil {
			name = UserName(int(cred.Uid))
		}
	})
	return name
}

// UserName names a user for the audit trail: "anna (uid 1000)".
func UserName(uid int) string {
	id := strconv.Itoa(uid)
	if u, err := user.LookupId(id); err == nil {
		return u.Username + " (uid " + id + ")"
	}
	return "uid " + id
}

// Daemon is an office behind a socket.
type Daemon struct {
	path    string
	version string
	client  *http.Client
}

// Dial finds the daemon behind the socket; ErrNoDaemon when nobody answers there.
func Dial(path, version string) (*Daemon, error) {
	dial := func(ctx context.Context, _, _ string) (net.Conn, error) {
		return (&net.Dialer{Timeout: 5 * time.Second}).DialContext(ctx, "unix", path)
	}
	c, err := dial(context.Background(), "", "")
	if err != nil {
		return nil, fmt.Errorf("%w at %s", ErrNoDaemon, path)
	}
	_ = c.Close()
	return &Daemon{path: path, version: version, client: &http.Client{Transport: &http.Transport{DialContext: dial, DisableKeepAlives: true}}}, nil
}

// Call has the daemon run the handler. The bytes of in are sent, never a path: the daemon may see other folders.
func (d *Daemon) Call(ctx context.Context, name string, args any, in io.Reader, out io.Writer) error {
	raw, err := json.Marshal(args)
	if err != nil {
		return fmt.Errorf("%s: arguments: %w", name, err)
	}
	text := url.QueryEscape(string(raw))
	if len(text) > maxArgs {
		return fmt.Errorf("%s: the arguments are too long", name)
	}
	req, err := http.NewRequestWithContext(ctx, http.MethodPost, "http://ventdue/"+url.PathEscape(name), in)
	if err != nil {
		return err
	}
	req.Header.Set(versionHeader, d.version)
	req.Header.Set(argsHeader, text)
	resp, err := d.client.Do(req)
	if err != nil {
		return fmt.Errorf("%s: the daemon at %s: %w", name, d.path, err)
	}
	defer resp.Body.Close()
	if resp.StatusCode != http.StatusOK {
		return unpack(bufio.NewReader(io.LimitReader(resp.Body, 4<<20)))
	}
	if _, err := io.Copy(out, resp.Body); err != nil {
		return fmt.Errorf("%s: the daemon at %s: %w", name, d.path, err)
	}
	if failed, err := url.QueryUnescape(resp.Trailer.Get(failedTrailer)); err == nil && failed != "" {
		var f failure
		if err := json.Unmarshal([]byte(failed), &f); err != nil {
			return fmt.Errorf("%s: the daemon failed", name)
		}
		return unpacked{f}
	}
	return nil
}

func unpack(r io.Reader) error {
	var f failure
	if err := json.NewDecoder(r).Decode(&f); err != nil {
		return fmt.Errorf("the daemon gave an answer that cannot be read: %w", err)
	}
	return unpacked{f}
}
