package web

import (
	"net/http"
	"net/url"
	"testing"

	"cribgate/core/event"
	"cribgate/kiosk/counter"
)

// A tag that was told by what it resembles leads to no sling that is to be looked at, to
// none before an examiner, and to none on a row of paper, before its plate agrees; one
// that was read does.
func TestResembledTagAsksForThePlate(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	c := k.signedIn(k.keeper)
	id, text := k.goneOut("NS-0417")
	c.inHeap(text)
	k.beginsVisit()
	for _, at := range []struct{ page, scan, sling string }{
		{checkPath, checkPath, checkPath + "/NS-0417"},
		{examinerPath, visitScanPath, examinePath + "NS-0417"},
	} {
		page := c.get(at.page)
		like := url.Values{"text": {text}, "way": {string(counter.Resembles)}}
		for typed, want := range map[string]string{"": "Last characters of the plate’s identification", "418": "The characters typed are not the last ones", "17": "The characters typed are not the last ones"} {
			form := url.Values{"text": like["text"], "way": like["way"], "typed": {typed}}
			if a := c.send(page, at.scan, form); a.status != http.StatusUnprocessableEntity || a.verdict() != LookCloser || !a.has(want) || a.hasForm(at.sling) {
				t.Errorf("%s, typed %q: %d %s", at.scan, typed, a.status, a.main())
			}
		}
		asks := c.send(page, at.scan, like)
		if a := c.send(asks, at.scan, url.Values{"typed": {"417"}}); !a.hasForm(at.sling) {
			t.Errorf("%s, with the end of its plate: %d %s", at.scan, a.status, a.main())
		}
		if a := c.send(page, at.scan, url.Values{"text": like["text"], "way": {string(counter.Camera)}}); !a.hasForm(at.sling) {
			t.Errorf("%s, one that was read: %d %s", at.scan, a.status, a.main())
		}
	}
	if a := c.send(c.get("/paper"), "/paper", url.Values{"text": {text}, "way": {string(counter.Resembles)}}); a.status != http.StatusUnprocessableEntity || !a.has("Type the identification") || a.has(`value="NS-0417"`) {
		t.Errorf("on a row of paper: %d %s", a.status, a.main())
	}
	if n := k.recorded(id, event.KindChecked) + k.recorded(id, event.KindExamined); n != 0 {
		t.Errorf("%d were recorded by scans alone", n)
	}
}
