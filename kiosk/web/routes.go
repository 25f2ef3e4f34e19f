package web

// A route is one line of the table below.
type route struct {
	method  string
	path    string // as net/http.ServeMux wants it
	act     act    // what one must be allowed to do; see acts
	nav     string // its name among the places of the house; empty for none
	follows bool   // the page says when the register has moved on since
	body    int64  // most bytes of a form; 0 stands for maxForm
	serve   func(*Server, *visit) error
}

// maxForm is the most bytes of a form without a file.
const maxForm = 64 << 10

// routes are all pages. The places of the house are shown in this order. No
// address carries what was scanned or typed: codes are sent in forms.
func routes() []route {
	return []route{
		{method: "GET", path: "/{$}", act: actSelf, serve: (*Server).home},
		{method: "GET", path: "/counter", follows: true, act: actCounter, nav: "Counter", serve: (*Server).counterPage},
		{method: "GET", path: "/counter/{card}", follows: true, act: actCounter, serve: (*Server).counterPage},
		{method: "GET", path: "/counter/rigger", act: actIssue, serve: (*Server).riggerPage},
		{method: "POST", path: "/counter/rigger", act: actIssue, serve: (*Server).chooseRigger},
		{method: "POST", path: "/counter/next", act: actCounter, serve: (*Server).nextRigger},
		{method: "GET", path: "/counter/lift", act: actIssue, serve: (*Server).liftPage},
		{method: "POST", path: "/counter/lift", act: actIssue, serve: (*Server).stateLift},
		{method: "POST", path: "/counter/scan", act: actCounter, serve: (*Server).scanned},
		{method: "POST", path: "/counter/picture", act: actCounter, body: maxPicture + maxForm, serve: (*Server).pictured},
		{method: "POST", path: "/counter/answer", act: actIssue, serve: (*Server).answer},
		{method: "POST", path: "/counter/issue", act: actIssue, serve: (*Server).issue},
		{method: "POST", path: "/counter/compare", act: actCompare, serve: (*Server).compareScanned},
		{method: "POST", path: "/counter/return", act: actCounter, serve: (*Server).takeBack},
		{method: "POST", path: "/counter/hold", act: actHold, serve: (*Server).hold},
		{method: "GET", path: pairPath, act: actCounter, serve: (*Server).pairPage},
		{method: "POST", path: pairPath, act: actCounter, serve: (*Server).offerPairing},
		{method: "POST", path: pairPath + "/end", act: actCounter, serve: (*Server).endPairing},
		{method: "GET", path: phonePath, act: actNothing, serve: (*Server).phonePage},
		{method: "POST", path: phonePath, act: actNothing, serve: (*Server).pair},
		{method: "POST", path: phonePath + "/end", act: actNothing, serve: (*Server).endPhone},
		{method: "GET", path: "/scanner", act: actCounter, serve: (*Server).scannerPage},
		{method: "POST", path: "/scanner", act: actCounter, serve: (*Server).nameStation},
		{method: "GET", path: "/rack", follows: true, act: actRack, nav: "Rack", serve: (*Server).rack},
		{method: "POST", path: "/rack", act: actRack, serve: (*Server).seek},
		{method: "GET", path: "/rack/{sling}", follows: true, act: actRack, serve: (*Server).slingPage},
		{method: "POST", path: "/rack/{sling}/hold", act: actHold, serve: (*Server).holdSling},
		{method: "POST", path: "/rack/{sling}/lose", act: actHold, serve: (*Server).loseSling},
		{method: "POST", path: "/rack/{sling}/find", act: actHold, serve: (*Server).foundSling},
		{method: "POST", path: "/rack/{sling}/release", act: actInspect, serve: (*Server).releaseSling},
		{method: "POST", path: "/rack/{sling}/inspect", act: actInspect, serve: (*Server).inspectSling},
		{method: "POST", path: "/rack/{sling}/inspect/check", act: actInspect, serve: (*Server).inspectCheck},
		{method: "POST", path: "/rack/{sling}/retire", act: actInspect, serve: (*Server).retireSling},
		{method: "GET", path: "/rack/{sling}/correct", act: actInspect, serve: (*Server).correctPage},
		{method: "POST", path: "/rack/{sling}/correct", act: actInspect, serve: (*Server).correct},
		{method: "GET", path: "/rack/{sling}/tag", act: actHang, serve: (*Server).tagPage},
		{method: "POST", path: "/rack/{sling}/tag", act: actTag, serve: (*Server).printTag},
		{method: "GET", path: "/rack/{sling}/tag/{file}", act: actTag, serve: (*Server).tagFile},
		{method: "POST", path: "/rack/{sling}/tag/confirm", act: actHang, body: maxPicture + maxForm, serve: (*Server).confirmTag},
		{method: "POST", path: "/rack/{sling}/tag/away", act: actHang, serve: (*Server).throwTag},
		{method: "GET", path: "/tags", follows: true, act: actHang, nav: "Tags", serve: (*Server).tags},
		{method: "GET", path: "/register", act: actRegister, serve: (*Server).registerPage},
		{method: "POST", path: "/register", act: actRegister, serve: (*Server).register},
		{method: "POST", path: "/register/check", act: actRegister, serve: (*Server).checkDetails},
		{method: "GET", path: "/outside", follows: true, act: actRack, nav: "Outside", serve: (*Server).outside},
		{method: "GET", path: "/people", follows: true, act: actPeople, nav: "People", serve: (*Server).people},
		{method: "POST", path: "/people", act: actAddPeople, serve: (*Server).addPerson},
		{method: "POST", path: "/people/{person}/pin", act: actAddPeople, serve: (*Server).givePIN},
		{method: "POST", path: "/people/{person}/roles", act: actAddPeople, serve: (*Server).changeRoles},
		{method: "POST", path: "/people/{person}/off", act: actAddPeople, serve: (*Server).takeOff},
		{method: "POST", path: "/people/{person}/erase", act: actAddPeople, serve: (*Server).erasePerson},
		{method: "POST", path: "/people/{person}/on", act: actAddPeople, serve: (*Server).takeOn},
		{method: "GET", path: "/seal", follows: true, act: actSeal, nav: "Seal", serve: (*Server).seal},
		{method: "GET", path: clockPath, act: actClock, serve: (*Server).clockPage},
		{method: "POST", path: clockPath, act: actClock, serve: (*Server).vouch},
		{method: "GET", path: comparePath, follows: true, act: actCompare, serve: (*Server).comparePage},
		{method: "POST", path: comparePath, act: actCompareBare, serve: (*Server).compareBare},
		{method: "GET", path: copiesPath, act: actCopies, serve: (*Server).copiesPage},
		{method: "GET", path: "/setup", act: actSetup, nav: "Set-up", serve: (*Server).setup},
		{method: "POST", path: "/setup", act: actSetup, serve: (*Server).setPolicy},
		{method: "GET", path: "/sign-in", act: actNothing, serve: (*Server).signInPage},
		{method: "POST", path: "/sign-in", act: actNothing, serve: (*Server).signIn},
		{method: "POST", path: "/sign-out", act: actNothing, serve: (*Server).signOut},
		{method: "GET", path: "/pin", act: actSelf, serve: (*Server).pinPage},
		{method: "POST", path: "/pin", act: actSelf, serve: (*Server).choosePIN},
		{method: "POST", path: "/theme", act: actNothing, serve: (*Server).setTheme},
	}
}
