package webtest

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
)

// A scan that is stuck on its way arrives once and whole; keys that are no scan are
// pressed once, however slow the page is.
func TestPressStuck(t *testing.T) {
	const page = `<!doctype html><title>t</title><body><p id="heard"></p><script>
		let text = "", silence = 0, stuck = 1;
		addEventListener("keydown", (e) => {
			for (const until = performance.now() + 600; text.length === 7 && stuck && performance.now() < until; );
			if (text.length === 7) stuck = 0;
			clearTimeout(silence);
			silence = setTimeout(() => (text = ""), %d);
			if (e.key !== "Enter") return (text += e.key);
			heard.textContent += "[" + text + "]";
			text = "";
		});
	</script>`
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		fmt.Fprintf(w, page, scanGap.Milliseconds())
	}))
	defer server.Close()
	p := Start(t).Page(t)
	for text, want := range map[string]string{"ZXTAG-1234567\n": "[ZXTAG-1234567]", "QXTAG-1234567\n": "TAG-1234567]"} {
		p.Go(server.URL)
		p.Press(ByScanner, US(text)...)
		if got := p.Text("#heard"); !strings.HasSuffix(got, want) || strings.Count(got, "[") != 1 {
			t.Errorf("%q is heard as %q", text, got)
		}
	}
}
