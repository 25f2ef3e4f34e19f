// Package browser is a browser without scripts, for the tour and for tests: it
// follows redirects, keeps cookies, fills in the forms of a page and reads the
// marks in it. The pages of the kiosk work without scripts, and this holds them
// to it.
//
// [New] opens one. [Browser.Fill] opens a page and sends one of its forms with
// answers; what the form holds hidden goes with them. It knows pages by their
// marks, never by their prose.
package browser

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"mime/multipart"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"time"
)

// A Browser is for one goroutine.
type Browser struct {
	ctx    context.Context
	home   string
	client *http.Client
	now    Page // that is open; its forms are filled in next
}

// patience is how long an answer may take.
const patience = time.Minute

// New is a browser that has not opened anything yet, for the pages at home, such
// as http://127.0.0.1:8480.
func New(ctx context.Context, home string) (*Browser, error) {
	jar, err := cookiejar.New(nil)
	if err != nil {
		return nil, fmt.Errorf("browser: %w", err)
	}
	lines := &http.Transport{} // its own, so that many browsers do not wait for each other
	return &Browser{ctx: ctx, home: strings.TrimSuffix(home, "/"), client: &http.Client{Jar: jar, Timeout: patience, Transport: lines}}, nil
}

// Close drops the connections that are kept.
func (b *Browser) Close() { b.client.CloseIdleConnections() }

// Moves says that the same pages are at another home from now on, such as another
// port after the program was started again. Cookies stay.
func (b *Browser) Moves(home string) { b.home = strings.TrimSuffix(home, "/") }

// Now is the page that is open.
func (b *Browser) Now() Page { return b.now }

// Get opens a page.
func (b *Browser) Get(path string) (Page, error) { return b.do(http.MethodGet, path, "", nil) }

// Send sends a form that no page was read for.
func (b *Browser) Send(path string, form url.Values) (Page, error) {
	return b.do(http.MethodPost, path, "application/x-www-form-urlencoded", strings.NewReader(form.Encode()))
}

// Fill opens the page at, and sends its form for action with the answers.
func (b *Browser) Fill(at, action string, answers url.Values) (Page, error) {
	if _, err := b.Get(at); err != nil {
		return Page{}, err
	}
	return b.Again(action, answers)
}

// Again sends the form for action of the page that is open, with the answers.
func (b *Browser) Again(action string, answers url.Values) (Page, error) {
	form, err := b.now.Form(action)
	if err != nil {
		return Page{}, err
	}
	for name, values := range answers {
		form[name] = values
	}
	return b.Send(action, form)
}

// Upload opens the page at, and sends its form for action with the answers and a
// file.
func (b *Browser) Upload(at, action string, answers url.Values, field, file string) (Page, error) {
	if _, err := b.Get(at); err != nil {
		return Page{}, err
	}
	form, err := b.now.Form(action)
	if err != nil {
		return Page{}, err
	}
	for name, values := range answers {
		form[name] = values
	}
	data, err := os.ReadFile(file)
	if err != nil {
		return Page{}, fmt.Errorf("browser: %w", err)
	}
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	for name := range form {
		if err := w.WriteField(name, form.Get(name)); err != nil {
			return Page{}, fmt.Errorf("browser: %w", err)
		}
	}
	part, err := w.CreateFormFile(field, filepath.Base(file))
	if err == nil {
		_, err = part.Write(data)
	}
	if err := errors.Join(err, w.Close()); err != nil {
		return Page{}, fmt.Errorf("browser: %w", err)
	}
	return b.do(http.MethodPost, action, w.FormDataContentType(), &body)
}

func (b *Browser) do(method, path, kind string, body io.Reader) (Page, error) {
	r, err := http.NewRequestWithContext(b.ctx, method, b.home+path, body)
	if err != nil {
		return Page{}, fmt.Errorf("browser: %w", err)
	}
	if kind != "" {
		r.Header.Set("Content-Type", kind)
	}
	res, err := b.client.Do(r)
	if err != nil {
		return Page{}, fmt.Errorf("browser: %w", err)
	}
	text, err := io.ReadAll(res.Body)
	b.now = Page{Status: res.StatusCode, Path: res.Request.URL.Path, Body: string(text)}
	if err := errors.Join(err, res.Body.Close()); err != nil {
		return Page{}, fmt.Errorf("browser: %s: %w", path, err)
	}
	return b.now, nil
}
