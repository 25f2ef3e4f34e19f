package web

import (
	"testing"

	"cribgate/kiosk/web/webtest"
)

// TestSealInBrowser looks at the sheet, before and after a verification, and while
// the register does not hold.
func TestSealInBrowser(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	p := k.opened(webtest.Start(t), k.keeper)
	p.Go(k.http.URL + "/seal")
	looks(t, p, "seal-not-verified")
	if _, err := k.audit.Now(t.Context(), false); err != nil {
		t.Fatal(err)
	}
	p.Go(k.http.URL + "/seal")
	looks(t, p, "seal")
}
