package browser_test

import (
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"cribgate/demo/browser"
)

const front = `<h1 id="verdict"><span>Stays</span> <span>here</span></h1><section data-verdict="stays-here">
<p class="sentence">One &amp; the <em>other</em>.</p><p class="wrong big" role="alert">No.</p></section>
<form method="post" action="/other"><input type="hidden" name="key" value="not this"></form>
<form method="post" action="/answer"><input type="hidden" name="key" value="a&#34;b"><input type="hidden" name="seen" value="1"></form>
<button class="button" name="rigger" value="r7"><span class="label">R. Dogwood</span></button>
<button class="button" name="rigger" value="r8"><span class="label">S. Elder</span></button>`

// site answers with the front page, and tells what was sent to it.
func site(t *testing.T) *browser.Browser {
	t.Helper()
	mux := http.NewServeMux()
	mux.HandleFunc("GET /{$}", func(w http.ResponseWriter, r *http.Request) {
		http.SetCookie(w, &http.Cookie{Name: "who", Value: "me", Path: "/"})
		io.WriteString(w, front)
	})
	mux.HandleFunc("POST /answer", func(w http.ResponseWriter, r *http.Request) {
		if err := r.ParseMultipartForm(1 << 20); err != nil && err != http.ErrNotMultipart {
			http.Error(w, err.Error(), http.StatusBadRequest)
			return
		}
		cookie, err := r.Cookie("who")
		if err != nil {
			http.Error(w, err.Error(), http.StatusForbidden)
			return
		}
		said := url.Values{"cookie": {cookie.Value}, "form": {r.PostForm.Encode()}}
		if r.MultipartForm != nil && len(r.MultipartForm.File["picture"]) == 1 {
			said.Set("file", r.MultipartForm.File["picture"][0].Filename)
		}
		http.Redirect(w, r, "/told?"+said.Encode(), http.StatusSeeOther)
	})
	mux.HandleFunc("GET /told", func(w http.ResponseWriter, r *http.Request) { fmt.Fprint(w, r.URL.RawQuery) })
	server := httptest.NewServer(mux)
	t.Cleanup(server.Close)
	b, err := browser.New(t.Context(), server.URL+"/")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(b.Close)
	return b
}

func TestMarks(t *testing.T) {
	p, err := site(t).Get("/")
	if err != nil {
		t.Fatal(err)
	}
	for mark, want := range map[browser.Mark]string{
		browser.VerdictWords: "Stays here", browser.Sentence: "One & the other .", browser.Wrong: "No.", browser.GivenPIN: "",
	} {
		if got := p.Text(mark); got != want {
			t.Errorf("reads %q, want %q", got, want)
		}
	}
	if err := p.Verdict("stays-here"); err != nil {
		t.Error(err)
	}
	if err := p.Verdict("may-go"); err == nil {
		t.Error("a refusal passes for may-go")
	}
	if p.Must(http.StatusOK, "One & the") != nil || p.Must(http.StatusCreated, "One") == nil || p.Must(http.StatusOK, "Three") == nil {
		t.Error("Must is not held to status and text")
	}
	if a, b, c := p.Value("rigger", "R. Dogwood"), p.Value("rigger", "S. Elder"), p.Value("rigger", "T. Fir"); a != "r7" || b != "r8" || c != "" {
		t.Errorf("buttons send %q, %q, %q", a, b, c)
	}
}

func TestForms(t *testing.T) {
	b := site(t)
	p, err := b.Fill("/", "/answer", url.Values{"seen": {"2"}, "said": {"yes"}})
	if err != nil {
		t.Fatal(err)
	}
	got, err := url.ParseQuery(p.Body)
	if err != nil {
		t.Fatal(err)
	}
	if want := "key=a%22b&said=yes&seen=2"; p.Path != "/told" || got.Get("form") != want || got.Get("cookie") != "me" {
		t.Errorf("at %s the form came as %v, want %s", p.Path, got, want)
	}
	if _, err := b.Again("/answer", nil); err == nil {
		t.Error("a form is sent that the page does not have")
	}
	file := filepath.Join(t.TempDir(), "tag.png")
	if err := os.WriteFile(file, []byte("x"), 0o600); err != nil {
		t.Fatal(err)
	}
	if p, err = b.Upload("/", "/answer", url.Values{"typed": {"071"}}, "picture", file); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(p.Body, "tag.png") || !strings.Contains(p.Body, "typed%3D071") {
		t.Errorf("the file came as %s", p.Body)
	}
	if _, err := b.Upload("/", "/answer", nil, "picture", file+"x"); err == nil {
		t.Error("a file is sent that is not there")
	}
}
