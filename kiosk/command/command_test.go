package command

import (
	"bytes"
	"context"
	"errors"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
	"github.com/skip2/go-qrcode"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"kiosk": func() { os.Exit(Run(context.Background(), os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) },
		"qr":    writeSymbol,
	})
}

// writeSymbol writes a symbol of a text: qr FILE TEXT.
func writeSymbol() {
	if err := qrcode.WriteFile(os.Args[2], qrcode.Medium, 300, os.Args[1]); err != nil {
		panic(err)
	}
}

func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{Dir: "testdata/script", Cmds: scriptCommands()})
}

func TestLongLinesAreAnsweredAndTheRestAsWell(t *testing.T) {
	in := strings.Repeat("x", maxLine+1) + "\n" + `{"id":"d1","inspected":"2026-01-31","service":"severe","rules":"us"}` // no line feed at the end
	var out bytes.Buffer
	if err := answerLines(strings.NewReader(in), &out, nextDue); !errors.Is(err, errSomeLines) {
		t.Errorf("error %v", err)
	}
	lines := strings.Split(out.String(), "\n")
	if len(lines) != 3 || !strings.Contains(lines[0], `"error"`) || lines[1] != `{"id":"d1","due":"2026-02-28"}` {
		t.Errorf("answers %q", lines)
	}
}

func TestALineJustAsLongAsAllowedIsRead(t *testing.T) {
	line := `{"id":"d1","inspected":"2026-01-31","service":"severe","rules":"us"}`
	line += strings.Repeat(" ", maxLine-len(line)-1)
	var out bytes.Buffer
	if err := answerLines(strings.NewReader(line+"\n"), &out, nextDue); err != nil {
		t.Errorf("error %v: %s", err, out.String())
	}
}

// failing is a writer on a full disk.
type failing struct{}

func (failing) Write([]byte) (int, error) { return 0, os.ErrInvalid }

func TestAnAnswerThatCannotBeWrittenIsAnError(t *testing.T) {
	err := answerLines(strings.NewReader(`{"id":"d1","inspected":"2026-01-31","service":"severe","rules":"us"}`+"\n"), failing{}, nextDue)
	if !errors.Is(err, os.ErrInvalid) {
		t.Errorf("error %v", err)
	}
}

func TestServeAnswersAndEnds(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "crib")
	var out, errOut bytes.Buffer
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	if code := Run(ctx, []string{"init", "--register", dir, "--name", "North Sluice crib", "--keeper", "K. Dorn"}, nil, &out, &errOut); code != 0 {
		t.Fatalf("init: %d: %s", code, &errOut)
	}
	r, w := io.Pipe()
	done := make(chan int, 1)
	go func() {
		done <- Run(ctx, []string{"serve", "--register", dir, "--listen", "127.0.0.1:0"}, nil, w, io.Discard)
		w.Close()
	}()
	line := make([]byte, 256)
	n, err := r.Read(line)
	if err != nil {
		t.Fatal(err)
	}
	url := strings.TrimSpace(strings.TrimPrefix(string(line[:n]), "serving "))
	resp, err := http.Get(url + "/sign-in")
	if err != nil {
		t.Fatal(err)
	}
	page, err := io.ReadAll(resp.Body)
	resp.Body.Close()
	if err != nil || resp.StatusCode != http.StatusOK || !strings.Contains(string(page), "North Sluice crib") {
		t.Errorf("the sign-in page: %v, %v", resp.Status, err)
	}
	cancel()
	if code := <-done; code != 0 {
		t.Errorf("serve ended with %d", code)
	}
}
