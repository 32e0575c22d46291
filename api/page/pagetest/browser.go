// Package pagetest tries the page in Chromium: it starts the program's service, opens a tab,
// and presses, types, drops and looks as a user does. The tests of the views of classes stand
// here, those of leading voices in leading, those that go through several views in sittings,
// and the others with the page, so that none takes longer than a test binary may.
package pagetest

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto"
	"github.com/chromedp/cdproto/cdp"
	cdplog "github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// built is the folder of the program, "" while no test needed it.
var built string

// program builds the whole program once: the page is tested as it is shipped.
var program = sync.OnceValues(func() (string, error) {
	var err error
	if built, err = os.MkdirTemp("", "page"); err != nil {
		return "", err
	}
	path := filepath.Join(built, "partwright")
	cmd := exec.Command("go", "build", "-o", path, "partwright") // #nosec G204 -- the test's own words
	if out, err := cmd.CombinedOutput(); err != nil {
		return "", errors.New(string(out))
	}
	return path, nil
})

// Main runs the tests of a package and takes the program away again.
func Main(m *testing.M) {
	code := m.Run()
	if built != "" {
		_ = os.RemoveAll(built)
	}
	os.Exit(code)
}

// Chromium finds a browser, or skips. The program that the page is tried on is built
// without the race detector, so that the short tests under it would see nothing new.
func Chromium(t *testing.T) string {
	t.Helper()
	if testing.Short() {
		t.Skip("the page is not tried in a browser by the short tests")
	}
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome", "chrome"} {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	t.Skip("the page is not tried in a browser: Chromium is not installed")
	return ""
}

// Serve starts the program's service and returns its address.
func Serve(t *testing.T, flags ...string) string {
	t.Helper()
	return ServeAt(t, FreeAddress(t), flags...)
}

// ServeAt starts it at an address that is known before: host and port.
func ServeAt(t *testing.T, addr string, flags ...string) string {
	t.Helper()
	path, err := program()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(path, append([]string{"serve", "--addr", addr, "--operator-addr", "off", "--log-level", "warn"}, flags...)...) // #nosec G204 -- the program under test
	cmd.Stderr = testWriter{t}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = cmd.Process.Signal(os.Interrupt)
		_ = cmd.Wait()
	})
	for range 200 {
		if answer, err := http.Get("http://" + addr + "/healthz"); err == nil { // #nosec G107 -- our own address
			_ = answer.Body.Close()
			return "http://" + addr
		}
		time.Sleep(50 * time.Millisecond)
	}
	t.Fatal("the service did not start")
	return ""
}

// FreeAddress is where nothing listens on this machine: host and port.
func FreeAddress(t *testing.T) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = l.Close() }()
	return l.Addr().String()
}

type testWriter struct{ t *testing.T }

func (w testWriter) Write(p []byte) (int, error) {
	for lines := bufio.NewScanner(strings.NewReader(string(p))); lines.Scan(); {
		w.t.Log(lines.Text())
	}
	return len(p), nil
}

// Tab is one tab of a browser, which notes what goes wrong in it. T is the test that it
// belongs to, Ctx what the browser is reached through.
type Tab struct {
	T      *testing.T
	Ctx    context.Context
	mu     sync.Mutex
	wrongs []string
	frame  bool // of a page of another site
}

// Browse opens the page of a service in a browser of its own.
func Browse(t *testing.T, address string, width, height int, flags ...chromedp.ExecAllocatorOption) *Tab {
	t.Helper()
	b := Open(t, address, width, height, flags...)
	b.Until("the page has begun", `document.querySelector('main .view')`)
	return b
}

// Open opens any address in a browser of its own.
func Open(t *testing.T, address string, width, height int, flags ...chromedp.ExecAllocatorOption) *Tab {
	t.Helper()
	options := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(Chromium(t)), chromedp.NoSandbox, chromedp.WindowSize(width, height),
		chromedp.Flag("lang", "en-US"), chromedp.Flag("autoplay-policy", "no-user-gesture-required"))
	allocated, stop := chromedp.NewExecAllocator(context.Background(), append(options, flags...)...)
	t.Cleanup(stop)
	b := attach(t, allocated)
	b.Do(chromedp.EmulateViewport(int64(width), int64(height)), chromedp.Navigate(address))
	return b
}

// attach reaches a new tab, or what an option names, and hears what goes wrong in it.
func attach(t *testing.T, parent context.Context, options ...chromedp.ContextOption) *Tab {
	t.Helper()
	ctx, cancel := chromedp.NewContext(parent, options...)
	t.Cleanup(cancel)
	b := &Tab{T: t, Ctx: ctx}
	if err := chromedp.Listen(ctx, b.hear); err != nil {
		t.Fatal(err)
	}
	if _, err := chromedp.Call(ctx, cdplog.Enable, cdp.Empty{}); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(b.NothingWrong)
	return b
}

// Other reaches a frame of another site ("iframe") or another window ("page") of the same
// browser, once its address begins as said.
func (b *Tab) Other(kind, address string) *Tab {
	b.T.Helper()
	var seen []string
	for range 600 {
		all, err := chromedp.Targets(b.Ctx)
		if err != nil {
			b.T.Fatal(err)
		}
		seen = nil
		for _, one := range all {
			if one.Type == kind && strings.HasPrefix(one.URL, address) {
				other := attach(b.T, b.Ctx, chromedp.WithTargetID(one.TargetID))
				other.frame = kind == "iframe"
				return other
			}
			seen = append(seen, one.Type+" "+one.URL)
		}
		time.Sleep(50 * time.Millisecond)
	}
	b.NothingWrong()
	b.T.Fatalf("there is no %s of %s, but %v", kind, address, seen)
	return nil
}

// hear keeps exceptions and violations of the policy.
func (b *Tab) hear(event any) {
	b.mu.Lock()
	defer b.mu.Unlock()
	switch e := event.(type) {
	case *runtime.EventExceptionThrown:
		b.wrongs = append(b.wrongs, "exception: "+e.ExceptionDetails.Text+" "+describe(e.ExceptionDetails.Exception))
	case *cdplog.EventEntryAdded:
		if strings.Contains(e.Entry.Text, "Content Security Policy") || e.Entry.Source == cdplog.EntrySourceSecurity {
			b.wrongs = append(b.wrongs, e.Entry.Text)
		}
	case *runtime.EventConsoleAPICalled:
		if e.Type == runtime.ConsoleAPICalledTypeError {
			b.wrongs = append(b.wrongs, "console: "+describe(e.Args[0]))
		}
	}
}

func describe(o *runtime.RemoteObject) string {
	if o == nil {
		return ""
	}
	return string(o.Value) + o.Description
}

// NothingWrong fails on exceptions and violations that happened so far.
func (b *Tab) NothingWrong() {
	for _, wrong := range b.Wrongs() {
		b.T.Error(wrong)
	}
}

// Wrongs takes the exceptions and violations that happened so far.
func (b *Tab) Wrongs() []string {
	b.mu.Lock()
	defer b.mu.Unlock()
	taken := b.wrongs
	b.wrongs = nil
	return taken
}

// Do carries out steps, within a minute.
func (b *Tab) Do(steps ...chromedp.Action[chromedp.Void]) {
	b.T.Helper()
	ctx, cancel := context.WithTimeout(b.Ctx, time.Minute)
	defer cancel()
	if err := chromedp.Do(ctx, steps...); err != nil {
		b.NothingWrong()
		b.T.Fatal(err)
	}
}

// Result runs an action that has one.
func Result[T any](b *Tab, action chromedp.Action[T]) T {
	b.T.Helper()
	got, err := result(b, action)
	if err != nil {
		b.NothingWrong()
		b.T.Fatal(err)
	}
	return got
}

func result[T any](b *Tab, action chromedp.Action[T]) (T, error) {
	ctx, cancel := context.WithTimeout(b.Ctx, time.Minute)
	defer cancel()
	return chromedp.Run(ctx, action)
}

// left tells whether the page was left before it answered: the protocol has one code for all
// that a server refuses, so that the words must tell.
func left(err error) bool {
	var refused *cdproto.Error
	if !errors.As(err, &refused) {
		return false
	}
	for _, words := range []string{"navigated or closed", "context was destroyed", "Cannot find context", "Cannot find default execution context"} {
		if strings.Contains(refused.Message, words) {
			return true
		}
	}
	return false
}

// Value evaluates an expression in the page; a promise is waited for.
func Value[T any](b *Tab, expression string) T {
	b.T.Helper()
	return Result(b, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
}

// Until waits for an expression to become true. While the page is left for another nothing
// is true: the browser then answers that the page is gone.
func (b *Tab) Until(what, expression string) {
	b.T.Helper()
	for range 1800 {
		so, err := result(b, chromedp.Evaluate[bool]("Boolean("+expression+")", chromedp.EvalAwaitPromise))
		if err != nil && !left(err) {
			b.NothingWrong()
			b.T.Fatal(err)
		}
		if so {
			return
		}
		time.Sleep(50 * time.Millisecond)
	}
	b.NothingWrong()
	b.T.Fatalf("not so after 90 s: %s\n%s", what, Value[string](b, "document.body.innerText"))
}

// Press presses the button, link or summary whose words begin with those given.
func (b *Tab) Press(words string) {
	b.T.Helper()
	quoted, _ := json.Marshal(words)
	find := `[...document.querySelectorAll('button, a, summary, label')].find((e) => e.checkVisibility() && !e.disabled && (e.innerText.trim().startsWith(` + string(quoted) + `) || e.ariaLabel === ` + string(quoted) + `))`
	b.Until("there is a button "+words, find)
	b.Do(chromedp.Evaluate[chromedp.Void](find + `.click()`))
}

// Picture writes what is seen to the folder that PAGE_PICTURES names, to be looked at.
func (b *Tab) Picture(name string) {
	b.T.Helper()
	dir := os.Getenv("PAGE_PICTURES")
	if dir == "" || b.frame { // a frame is no picture of its own
		return
	}
	image := Result(b, shot())
	if err := os.WriteFile(filepath.Join(dir, name+".png"), image, 0o600); err != nil { // #nosec G703 -- the folder that whoever runs the tests names
		b.T.Fatal(err)
	}
}

// shot takes the whole page, or with PAGE_WINDOW what fits into the window.
func shot() chromedp.Action[[]byte] {
	if os.Getenv("PAGE_WINDOW") != "" {
		return chromedp.CaptureScreenshot()
	}
	return chromedp.FullScreenshot(100)
}

// Partwright runs the program and returns what it prints.
func Partwright(t *testing.T, args ...string) string {
	t.Helper()
	path, err := program()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(path, args...)            // #nosec G204 -- the program under test
	cmd.Env = append(os.Environ(), "COLUMNS=400") // so that a row of a table is a line
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%v: %v", args, err)
	}
	return strings.TrimSpace(string(out))
}
