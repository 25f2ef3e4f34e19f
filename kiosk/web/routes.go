package web

// A route is one line of the table below.
type route struct {
	method  string
	path    string  // as net/http.ServeMux wants it
	act     act     // what one must be allowed to do; see acts
	nav     string  // its name among the places of the house; empty for none
	follows follows // what its page, also that which answers a form, is told of while it is open
	body    int64   // most bytes of a form; 0 stands for maxForm
	serve   func(*Server, *visit) error
}

// maxForm is the most bytes of a form without a file.
const maxForm = 64 << 10

// routes are all pages. The places of the house are shown in this order. No
// address carries what was scanned or typed: codes are sent in forms.
//
// A page is told of every event unless it says otherwise. Of none: signing in, the
// PIN, the pages of scanner and phone and the form for a new sling, since nothing on
// them comes from the story of a sling or a person; nor the lift once it was sent with something
// missing, for the same reason. What is filled in there is held against the register
// when it is sent. Each minute as well: the clock and the copies, which tell an age.
func routes() []route {
	return []route{
		{method: "GET", path: "/{$}", act: actSelf, serve: (*Server).home},
		{method: "GET", path: "/counter", act: actCounter, nav: "Counter", serve: (*Server).counterPage},
		{method: "GET", path: "/counter/{card}", act: actCounter, serve: (*Server).counterPage},
		{method: "GET", path: "/counter/rigger", act: actIssue, serve: (*Server).riggerPage},
		{method: "POST", path: "/counter/rigger", act: actIssue, serve: (*Server).chooseRigger},
		{method: "POST", path: "/counter/next", act: actCounter, serve: (*Server).nextRigger},
		{method: "GET", path: "/counter/lift", act: actIssue, serve: (*Server).liftPage},
		{method: "POST", path: "/counter/lift", follows: followsHouse, act: actIssue, serve: (*Server).stateLift},
		{method: "POST", path: "/counter/fetch", act: actIssue, serve: (*Server).fetch},
		{method: "POST", path: "/counter/scan", act: actCounter, serve: (*Server).scanned},
		{method: "POST", path: "/counter/picture", act: actCounter, body: maxPicture + maxForm, serve: (*Server).pictured},
		{method: "POST", path: "/counter/answer", act: actIssue, serve: (*Server).answer},
		{method: "POST", path: "/counter/same", act: actIssue, serve: (*Server).sameForRigger},
		{method: "POST", path: "/counter/shift", act: actIssue, serve: (*Server).forShift},
		{method: "POST", path: "/counter/for", act: actIssue, serve: (*Server).scanFor},
		{method: "POST", path: "/counter/off", act: actIssue, serve: (*Server).offLoan},
		{method: "GET", path: "/loan/{loan}", act: actRack, serve: (*Server).loanPage},
		{method: "GET", path: "/loan/{loan}/slip.pdf", act: actRack, serve: (*Server).slipFile},
		{method: "GET", path: shiftPath, act: actRack, serve: (*Server).shiftPage},
		{method: "POST", path: "/counter/issue", act: actIssue, serve: (*Server).issue},
		{method: "POST", path: "/counter/compare", act: actCompare, serve: (*Server).compareScanned},
		{method: "POST", path: "/counter/return", act: actCounter, serve: (*Server).takeBack},
		{method: "POST", path: "/counter/hold", act: actHold, serve: (*Server).hold},
		{method: "GET", path: pairPath, follows: followsHouse, act: actCounter, serve: (*Server).pairPage},
		{method: "POST", path: pairPath, follows: followsHouse, act: actCounter, serve: (*Server).offerPairing},
		{method: "POST", path: pairPath + "/end", act: actCounter, serve: (*Server).endPairing},
		{method: "GET", path: phonePath, follows: followsHouse, act: actNothing, serve: (*Server).phonePage},
		{method: "POST", path: phonePath, follows: followsHouse, act: actNothing, serve: (*Server).pair},
		{method: "POST", path: phonePath + "/end", act: actNothing, serve: (*Server).endPhone},
		{method: "GET", path: "/scanner", follows: followsHouse, act: actCounter, serve: (*Server).scannerPage},
		{method: "POST", path: "/scanner", follows: followsHouse, act: actCounter, serve: (*Server).nameStation},
		{method: "GET", path: "/rack", act: actRack, nav: "Rack", serve: (*Server).rack},
		{method: "POST", path: "/rack", act: actRack, serve: (*Server).seek},
		{method: "POST", path: "/rack/search", act: actRack, serve: (*Server).search},
		{method: "GET", path: "/rack/{sling}", act: actRack, serve: (*Server).slingPage},
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
		{method: "GET", path: "/tags", act: actHang, nav: "Tags", serve: (*Server).tags},
		{method: "GET", path: "/register", follows: followsHouse, act: actRegister, serve: (*Server).registerPage},
		{method: "POST", path: "/register", follows: followsHouse, act: actRegister, serve: (*Server).register},
		{method: "POST", path: "/register/check", act: actRegister, serve: (*Server).checkDetails},
		{method: "GET", path: countPath, act: actCount, nav: "Count", serve: (*Server).countPage},
		{method: "POST", path: countPath, act: actCount, serve: (*Server).beginCount},
		{method: "POST", path: countPath + "/scan", act: actCount, serve: (*Server).countScanned},
		{method: "POST", path: countPath + "/picture", act: actCount, body: maxPicture + maxForm, serve: (*Server).countPictured},
		{method: "POST", path: countPath + "/move", act: actCount, serve: (*Server).moveCounted},
		{method: "POST", path: countPath + "/end", act: actCount, serve: (*Server).endCount},
		{method: "GET", path: sheetPath, act: actCount, serve: (*Server).countSheet},
		{method: "GET", path: heapPath, act: actCounter, serve: (*Server).heapPage},
		{method: "POST", path: heapPath + "/scan", act: actCounter, serve: (*Server).scannedHeap},
		{method: "POST", path: heapPath + "/picture", act: actCounter, body: maxPicture + maxForm, serve: (*Server).picturedHeap},
		{method: "POST", path: heapPath + "/dealt", act: actCounter, serve: (*Server).dealtWith},
		{method: "POST", path: heapPath + "/next", act: actCounter, serve: (*Server).nextHeap},
		{method: "GET", path: checkPath, act: actCounter, serve: (*Server).checkList},
		{method: "POST", path: checkPath, act: actCounter, serve: (*Server).scannedCheck},
		{method: "GET", path: checkPath + "/{sling}", act: actCounter, serve: (*Server).checkPage},
		{method: "POST", path: checkPath + "/{sling}", act: actCounter, serve: (*Server).check},
		{method: "GET", path: toldPath + "/{person}", act: actCounter, serve: (*Server).toldPage},
		{method: "POST", path: toldPath, act: actCounter, serve: (*Server).told},
		{method: "GET", path: outsidePath, act: actRack, nav: "Outside", serve: (*Server).outside},
		{method: "POST", path: outsidePath, act: actCounter, serve: (*Server).scannedOutside},
		{method: "GET", path: todayPath, act: actRack, serve: (*Server).outsideToday},
		{method: "GET", path: outsidePath + "/{sling}", act: actCounter, serve: (*Server).awayPage},
		{method: "POST", path: outsidePath + "/{sling}/to", act: actIssue, serve: (*Server).whoTakes},
		{method: "POST", path: outsidePath + "/{sling}/hand-on", act: actIssue, serve: (*Server).handOn},
		{method: "POST", path: outsidePath + "/{sling}/place", act: actCounter, serve: (*Server).placeAway},
		{method: "POST", path: outsidePath + "/{sling}/recall", act: actCounter, serve: (*Server).recallAway},
		{method: "GET", path: paperPath, act: actPaper, nav: "On paper", serve: (*Server).paperPage},
		{method: "POST", path: paperPath, act: actPaper, serve: (*Server).enterPaper},
		{method: "POST", path: paperPath + "/pad", act: actPaper, serve: (*Server).printPad},
		{method: "GET", path: paperPath + "/pad/{sheets}", act: actPaper, serve: (*Server).pad},
		{method: "GET", path: straysPath, act: actPaper, serve: (*Server).strays},
		{method: "POST", path: straysPath, act: actPaper, body: maxPicture + maxForm, serve: (*Server).keepApart},
		{method: "POST", path: straysPath + "/{no}/settle", act: actSettle, serve: (*Server).settle},
		{method: "GET", path: "/photo/{photo}", act: actRack, serve: (*Server).photoFile},
		{method: "POST", path: "/photo/{photo}/out", act: actPhotoOut, serve: (*Server).photoOut},
		{method: "GET", path: "/people", act: actPeople, nav: "People", serve: (*Server).people},
		{method: "POST", path: "/people", act: actAddPeople, serve: (*Server).addPerson},
		{method: "GET", path: markedPath, act: actMarked, serve: (*Server).marked},
		{method: "POST", path: "/people/day", act: actBadge, serve: (*Server).dayPass},
		{method: "GET", path: "/people/{person}", act: actAddPeople, serve: (*Server).personPage},
		{method: "POST", path: "/people/{person}/terms", act: actAddPeople, serve: (*Server).setTerms},
		{method: "POST", path: "/people/{person}/badge", act: actBadge, serve: (*Server).printBadge},
		{method: "GET", path: "/people/{person}/badge/{file}", act: actBadge, serve: (*Server).badgeFile},
		{method: "POST", path: "/people/{person}/pin", act: actAddPeople, serve: (*Server).givePIN},
		{method: "POST", path: "/people/{person}/roles", act: actAddPeople, serve: (*Server).changeRoles},
		{method: "POST", path: "/people/{person}/off", act: actAddPeople, serve: (*Server).takeOff},
		{method: "POST", path: "/people/{person}/erase", act: actAddPeople, serve: (*Server).erasePerson},
		{method: "POST", path: "/people/{person}/on", act: actAddPeople, serve: (*Server).takeOn},
		{method: "GET", path: "/seal", act: actSeal, nav: "Seal", serve: (*Server).seal},
		{method: "GET", path: clockPath, follows: followsClock, act: actClock, serve: (*Server).clockPage},
		{method: "POST", path: clockPath, follows: followsClock, act: actClock, serve: (*Server).vouch},
		{method: "GET", path: comparePath, act: actCompare, serve: (*Server).comparePage},
		{method: "POST", path: comparePath, act: actCompareBare, serve: (*Server).compareBare},
		{method: "GET", path: copiesPath, follows: followsClock, act: actCopies, serve: (*Server).copiesPage},
		{method: "GET", path: "/setup", act: actSetup, nav: "Set-up", serve: (*Server).setup},
		{method: "POST", path: "/setup", act: actSetup, serve: (*Server).setPolicy},
		{method: "GET", path: "/sign-in", follows: followsHouse, act: actNothing, serve: (*Server).signInPage},
		{method: "POST", path: "/sign-in", follows: followsHouse, act: actNothing, serve: (*Server).signIn},
		{method: "POST", path: "/sign-in/badge", follows: followsHouse, act: actNothing, serve: (*Server).signInBadge},
		{method: "POST", path: "/sign-out", act: actNothing, serve: (*Server).signOut},
		{method: "GET", path: "/pin", follows: followsHouse, act: actSelf, serve: (*Server).pinPage},
		{method: "POST", path: "/pin", follows: followsHouse, act: actSelf, serve: (*Server).choosePIN},
		{method: "POST", path: "/theme", act: actNothing, serve: (*Server).setTheme},
	}
}
