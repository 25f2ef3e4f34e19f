package browser

import (
	"fmt"
	"html"
	"net/url"
	"regexp"
	"strings"
)

// A Page is what came back after all redirects.
type Page struct {
	Status int
	Path   string
	Body   string
}

// A Mark is something that pages show.
type Mark struct{ found *regexp.Regexp }

// The marks.
var (
	VerdictWords = Mark{regexp.MustCompile(`(?s)<h1 id="verdict"[^>]*>(.*?)</h1>`)}
	Sentence     = Mark{regexp.MustCompile(`(?s)<p class="sentence"[^>]*>(.*?)</p>`)}
	Wrong        = Mark{regexp.MustCompile(`(?s)<p class="wrong[^"]*"[^>]*>(.*?)</p>`)}
	GivenPIN     = Mark{regexp.MustCompile(`<p class="pin">(.*?)</p>`)}
	verdict      = Mark{regexp.MustCompile(`data-verdict="([^"]*)"`)}

	markup = regexp.MustCompile(`<[^>]*>`)
	well   = regexp.MustCompile(`name="(is-[a-z-]+)" value="ok"`)
	hidden = regexp.MustCompile(`<input type="hidden" name="([^"]*)" value="([^"]*)">`)
)

// Text is what the page shows at the first of a mark, without markup; empty
// where it has none.
func (p Page) Text(m Mark) string {
	found := m.found.FindStringSubmatch(p.Body)
	if found == nil {
		return ""
	}
	return html.UnescapeString(strings.Join(strings.Fields(markup.ReplaceAllString(found[1], " ")), " "))
}

// Must is an error unless the page came with that status and holds the text.
func (p Page) Must(status int, text string) error {
	if p.Status != status || !strings.Contains(html.UnescapeString(p.Body), text) {
		return fmt.Errorf("browser: %s answered %d %q, want %d with %q", p.Path, p.Status, p.Text(Wrong), status, text)
	}
	return nil
}

// Verdict is an error unless the page's plate shows it: may-go, stays-here or
// look-closer.
func (p Page) Verdict(want string) error {
	if got := p.Text(verdict); got != want {
		return fmt.Errorf("browser: %s shows the verdict %q, want %q: %s %s", p.Path, got, want, p.Text(VerdictWords), p.Text(Sentence))
	}
	return nil
}

// Form gives the hidden answers of the form that is sent to action.
func (p Page) Form(action string) (url.Values, error) {
	_, rest, found := strings.Cut(p.Body, `action="`+action+`"`)
	if !found {
		return nil, fmt.Errorf("browser: %s has no form for %s", p.Path, action)
	}
	rest, _, _ = strings.Cut(rest, "</form>")
	values := url.Values{}
	for _, m := range hidden.FindAllStringSubmatch(rest, -1) {
		values.Add(m[1], html.UnescapeString(m[2]))
	}
	return values, nil
}

// AllWell answers each question of the return check of a form with the good answer;
// without any where the page asks nothing.
func (p Page) AllWell(action string) url.Values {
	_, rest, _ := strings.Cut(p.Body, `action="`+action+`"`)
	rest, _, _ = strings.Cut(rest, "</form>")
	values := url.Values{}
	for _, m := range well.FindAllStringSubmatch(rest, -1) {
		values.Set(m[1], "ok")
	}
	return values
}

// Value finds what a button or choice sends that stands beside a label, such as
// the id beside a person's name; empty where the page has no such one.
func (p Page) Value(name, label string) string {
	button := regexp.MustCompile(`name="` + regexp.QuoteMeta(name) + `" value="([^"]*)">(?:[^<]|<span[^>]*>)*` + regexp.QuoteMeta(html.EscapeString(label)))
	if m := button.FindStringSubmatch(p.Body); m != nil {
		return html.UnescapeString(m[1])
	}
	return ""
}
