package web

import (
	"net/http"
	"strings"

	"ventdue/vent"
)

// handler answers one request or says why not; fail turns the error into an answer.
type handler func(w http.ResponseWriter, r *http.Request, v visitor) error

// route is one address: who may come, and who answers. Nobody else decides who may come: see admit.
type route struct {
	pattern string
	role    vent.Role       // the least that may come; NoRole: anybody
	api     bool            // for programs: answers in JSON, and takes tokens beside a page's own session
	scope   vent.TokenScope // of the API: what a program's token must hold
	doc     *apiDoc         // of the API: what its document says
	duty    bool            // the address names a building or a run, and a technician comes to those they are sent to
	first   bool            // sets up a new installation: whoever may do that, see admitFounder
	largest int64           // the largest body, in bytes; 0: maxBody
	handle  handler
}

// public is an address that anybody may see.
func public(pattern string, h handler) route { return route{pattern: pattern, handle: h} }

// founding is an address that sets up a new installation.
func founding(pattern string, h handler) route {
	return route{pattern: pattern, role: vent.Owner, first: true, handle: h}
}

// pageFor is an address for people who signed in and have at least the role.
func pageFor(role vent.Role, pattern string, h handler) route {
	return route{pattern: pattern, role: role, handle: h}
}

// apiFor is an address for programs whose token holds at least the scope, and for pages' own sessions with the role.
func apiFor(role vent.Role, scope vent.TokenScope, pattern string, h handler) route {
	return route{pattern: pattern, role: role, scope: scope, api: true, handle: h}
}

// onDuty has a technician come only to buildings that they are sent to, and to the runs there.
func (rt route) onDuty() route { rt.duty = true; return rt }

// upTo allows a larger body than a form has.
func (rt route) upTo(bytes int64) route { rt.largest = bytes; return rt }

// routes names every address there is, and who may come.
func (s *server) routes() []route {
	const owner, office, technician = vent.Owner, vent.Office, vent.Technician
	pages := []route{
		pageFor(technician, "GET /{$}", s.showHome),
		pageFor(office, "GET /due", s.showBoard),
		pageFor(office, "GET /month", s.showMonth),
		pageFor(office, "GET /find", s.showFind),
		pageFor(technician, "GET /sites/{id}", s.showSite).onDuty(),
		pageFor(office, "GET /customers/{id}", s.showCustomer),
		pageFor(owner, "GET /settings", s.showSettings),
		pageFor(owner, "POST /settings", s.keepSettings),
		pageFor(owner, "POST /settings/erase", s.erase),
		pageFor(technician, "GET /runs/{id}", s.showRun).onDuty(),
		pageFor(technician, "POST /runs/{id}/findings", s.recordFinding).onDuty().upTo(maxVisit),
		pageFor(technician, "GET /runs/{id}/visit", s.showVisitForm).onDuty(),
		pageFor(technician, "POST /runs/{id}/visit", s.takeKept).onDuty(),
		pageFor(technician, "POST /runs/{id}/judge", s.judgeForm).onDuty(),
		pageFor(technician, "GET /runs/{id}/flow.svg", s.showFlow).onDuty(),
		pageFor(technician, "GET /runs/{id}/record", s.showRunPaper).onDuty(),
		pageFor(office, "GET /runs/{id}/record.csv", s.runSheet),
		pageFor(office, "GET /findings/{id}/record", s.showFindingPaper),
		pageFor(office, "GET /findings/{id}/record.csv", s.findingSheet),
		pageFor(office, "GET /sites/{id}/record", s.showSitePaper),
		pageFor(office, "GET /sites/{id}/record.csv", s.siteSheet),
		pageFor(office, "GET /sites/{id}/checks", s.showChecks),
		pageFor(office, "POST /sites/{id}/checks/{form}", s.actOnChecks),
		pageFor(technician, "POST /runs/{id}/faults/{fault}/{step}", s.closeFault).onDuty(),
		pageFor(technician, "GET /photos/{sum}", s.showPhoto),
		pageFor(office, "GET /visits", s.showVisits),
		pageFor(office, "POST /visits/propose", s.proposeVisits),
		pageFor(technician, "GET /visits/{id}", s.showVisit),
		pageFor(technician, "POST /visits/{id}", s.changeVisit),
		pageFor(technician, "GET /days/{date}/{technician}", s.showDay),
		pageFor(office, "GET /ahead", s.showAhead),
		pageFor(office, "GET /labels", s.showLabels),
		pageFor(office, "GET /feeds", s.showFeeds),
		pageFor(office, "POST /feeds", s.makeFeed),
		pageFor(office, "POST /feeds/{id}/address", s.rotateFeed),
		pageFor(office, "POST /feeds/{id}/revoke", s.revokeFeed),

		pageFor(office, "GET /mail", s.showMail),
		pageFor(office, "GET /people/{id}/mail", s.showMailOf),
		pageFor(office, "GET /customers/{id}/mail", s.showMailOf),
		pageFor(office, "POST /people/{id}/links", s.voidLinks),
		pageFor(office, "POST /people/{id}/channels", s.setChannels),

		founding("GET /welcome", s.showWelcome),
		founding("POST /welcome", s.takeWelcome),
		public("GET /welcome/code", s.showCode),
		public("POST /welcome/code", s.postCode),
		pageFor(owner, "GET /welcome/home", s.showHousehold),
		pageFor(owner, "POST /welcome/home", s.takeHousehold),
		pageFor(owner, "GET /welcome/done", s.showHouseholdDone),
		pageFor(office, "GET /import", s.showImport),
		pageFor(office, "POST /import", s.uploadImport).upTo(maxUpload),
		pageFor(office, "GET /import/{key}", s.showUpload),
		pageFor(office, "POST /import/{key}", s.mendUpload).upTo(maxMends),

		pageFor(technician, "GET /me", s.showMe),
		pageFor(technician, "POST /me", s.changeMe),
		pageFor(technician, "POST /me/password", s.changeMyPassword),
		pageFor(owner, "GET /accounts", s.showAccounts),
		pageFor(owner, "POST /accounts", s.makeAccount),
		pageFor(owner, "POST /accounts/{id}", s.changeAccount),
		pageFor(owner, "POST /accounts/{id}/password", s.resetPassword),
		pageFor(owner, "POST /accounts/{id}/signout", s.signAccountOut),
		pageFor(owner, "POST /accounts/{id}/remove", s.removeAccount),
		pageFor(owner, "POST /accounts/signout", s.signEverybodyOut),
		pageFor(owner, "GET /tokens", s.showTokens),
		pageFor(owner, "POST /tokens", s.makeToken),
		pageFor(owner, "POST /tokens/{id}/revoke", s.revokeToken),

		public("GET /s/{token}", s.showSign),
		public("POST /s/{token}", s.tellSign),
		public("GET /a/{token}", s.showAck),
		public("POST /a/{token}", s.takeAck),
		public("GET /v/{token}", s.showBooking),
		public("POST /v/{token}", s.takeBooking),
		public("GET /r/{token}", s.showRecordByLink),
		public("GET /m/{token}", s.showChoices),
		public(choicesRoute, s.takeChoices),
		public("GET /signin", s.showSignIn),
		public("POST /signin", s.signIn),
		pageFor(technician, "POST /signout", s.signOut),
		pageFor(technician, "POST /signout/everywhere", s.signOutEverywhere),
		public("GET /waiting", s.showWaiting),
		public("GET /worker.js", s.showWorker),
		public("GET /static/{file}", s.static),
	}
	return append(pages, s.apiRoutes()...)
}

// register makes the addresses known.
func (s *server) register() {
	s.mux, s.largest = http.NewServeMux(), map[string]int64{}
	for _, rt := range s.routes() {
		if rt.doc != nil && rt.doc.Once {
			rt.handle = s.once(rt.handle)
		}
		s.mux.Handle(rt.pattern, s.serve(rt))
		if rt.largest > 0 {
			s.largest[rt.pattern] = rt.largest
		}
	}
}

// serve answers an address to whoever may come.
func (s *server) serve(rt route) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		v := s.visitor(r, rt.api)
		err := s.admit(r, rt, v)
		switch {
		case err == errStranger && !rt.api:
			s.askToSignIn(w, r)
			return
		case err == errFounder:
			s.toFounder(w, r)
			return
		}
		if err == nil {
			s.seen(w, r, v)
			err = rt.handle(w, r, v)
		}
		switch {
		case err == nil:
		case rt.api:
			s.failAPI(w, r, v, err)
		default:
			s.failPage(w, r, v, err)
		}
	})
}

// errStranger is said to whoever has to say first who they are.
var errStranger error = refusal{status: http.StatusUnauthorized, key: "token"}

// admit decides whether a visitor may come to an address: the one place where roles and scopes are held.
func (s *server) admit(r *http.Request, rt route, v visitor) error {
	switch {
	case rt.role == vent.NoRole:
		return nil
	case rt.first:
		return s.admitFounder(r, v)
	case !v.inside:
		return errStranger
	case v.program && !v.scope.Holds(rt.scope):
		return refusal{status: http.StatusForbidden, key: "scope"}
	case !v.role.May(rt.role):
		return refusal{status: http.StatusForbidden, key: "role"}
	case rt.duty && v.role == vent.Technician:
		return s.admitToDuty(r, rt, v)
	}
	return nil
}

// admitToDuty lets a technician come to the buildings they are sent to, and to the runs there.
func (s *server) admitToDuty(r *http.Request, rt route, v visitor) error {
	id, err := vent.ParseID(r.PathValue("id"))
	if err != nil {
		return vent.ErrNotFound
	}
	onDuty := s.desk.OnDuty
	if strings.Contains(rt.pattern, "/sites/") {
		onDuty = s.desk.OnDutyAt
	}
	yes, err := onDuty(s.by(v), v.person, id)
	if err == nil && !yes {
		err = refusal{status: http.StatusForbidden, key: "duty"}
	}
	return err
}

// seen renews a session in use and writes down that somebody, or a program, is at work. What goes wrong with that keeps
// nobody from working.
func (s *server) seen(w http.ResponseWriter, r *http.Request, v visitor) {
	s.auth.renew(w, r, v, s.now())
	var err error
	switch {
	case v.account != nil:
		err = s.desk.AccountSeen(s.by(v), *v.account)
	case v.token != nil:
		err = s.desk.TokenUsed(s.by(v), *v.token)
	}
	if err != nil {
		s.log.Warn("it could not be written down who is at work", "actor", v.actor(), "err", err)
	}
}
