package tour

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"html"
	"io"
	"mime/multipart"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
)

// What a page shows, by the marks in it.
var (
	verdictText  = regexp.MustCompile(`(?s)<h1 id="verdict">(.*?)</h1>`)
	sentenceText = regexp.MustCompile(`(?s)<p class="sentence">(.*?)</p>`)
	wrongText    = regexp.MustCompile(`(?s)<p class="wrong[^"]*"[^>]*>(.*?)</p>`)
	verdictMark  = regexp.MustCompile(`data-verdict="([^"]*)"`)
	markup       = regexp.MustCompile(`<[^>]*>`)
	hidden       = regexp.MustCompile(`<input type="hidden" name="([^"]*)" value="([^"]*)">`)
)

// A page is what came back after all redirects.
type page struct {
	status int
	path   string
	body   string
}

// first is the text of the first match, without its markup.
func (p page) first(what *regexp.Regexp) string {
	m := what.FindStringSubmatch(p.body)
	if m == nil {
		return ""
	}
	return html.UnescapeString(strings.Join(strings.Fields(markup.ReplaceAllString(m[1], " ")), " "))
}

func (p page) must(status int, text string) error {
	if p.status != status || !strings.Contains(html.UnescapeString(p.body), text) {
		return fmt.Errorf("%s answered %d without %q", p.path, p.status, text)
	}
	return nil
}

func (p page) verdict(want string) error {
	if got := p.first(verdictMark); got != want {
		return fmt.Errorf("%s shows the verdict %q, want %q: %s %s", p.path, got, want, p.first(verdictText), p.first(sentenceText))
	}
	return nil
}

// form gives the hidden answers of the form that is sent to action.
func (p page) form(action string) (url.Values, error) {
	_, rest, found := strings.Cut(p.body, `action="`+action+`"`)
	if !found {
		return nil, fmt.Errorf("%s has no form for %s", p.path, action)
	}
	rest, _, _ = strings.Cut(rest, "</form>")
	values := url.Values{}
	for _, m := range hidden.FindAllStringSubmatch(rest, -1) {
		values.Set(m[1], html.UnescapeString(m[2]))
	}
	return values, nil
}

// A browser follows redirects, keeps cookies and fills in forms.
type browser struct {
	ctx    context.Context
	home   string
	client *http.Client
	now    page // that is open; its forms are filled in next
}

func (b *browser) do(method, path, kind string, body io.Reader) (page, error) {
	r, err := http.NewRequestWithContext(b.ctx, method, b.home+path, body)
	if err != nil {
		return page{}, err
	}
	if kind != "" {
		r.Header.Set("Content-Type", kind)
	}
	res, err := b.client.Do(r)
	if err != nil {
		return page{}, err
	}
	text, err := io.ReadAll(res.Body)
	b.now = page{res.StatusCode, res.Request.URL.Path, string(text)}
	return b.now, errors.Join(err, res.Body.Close())
}

func (b *browser) send(path string, form url.Values) (page, error) {
	return b.do(http.MethodPost, path, "application/x-www-form-urlencoded", strings.NewReader(form.Encode()))
}

// fill opens a page and sends its form for action with the answers.
func (b *browser) fill(at, action string, answers url.Values) (page, error) {
	if _, err := b.do(http.MethodGet, at, "", nil); err != nil {
		return page{}, err
	}
	return b.resend(action, answers)
}

// resend sends a form of the page that is open.
func (b *browser) resend(action string, answers url.Values) (page, error) {
	form, err := b.now.form(action)
	if err != nil {
		return page{}, err
	}
	for name, values := range answers {
		form[name] = values
	}
	return b.send(action, form)
}

// picture sends a file with the counter's form for pictures.
func (b *browser) picture(action, file string) (page, error) {
	p, err := b.do(http.MethodGet, "/counter", "", nil)
	if err != nil {
		return page{}, err
	}
	form, err := p.form(action)
	if err != nil {
		return page{}, err
	}
	data, err := os.ReadFile(file)
	if err != nil {
		return page{}, err
	}
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	for name := range form {
		if err := w.WriteField(name, form.Get(name)); err != nil {
			return page{}, err
		}
	}
	part, err := w.CreateFormFile("picture", filepath.Base(file))
	if err != nil {
		return page{}, err
	}
	if _, err := part.Write(data); err != nil {
		return page{}, err
	}
	if err := w.Close(); err != nil {
		return page{}, err
	}
	return b.do(http.MethodPost, action, w.FormDataContentType(), &body)
}
