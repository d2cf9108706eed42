package outgoing

import (
	"errors"

	"soundings/bot/chat"
	"soundings/flows"
)

// faultOf is why the platform does not let us have an extra. ok is false where
// that may pass, or where it lets us do nothing at all: neither is worth a
// word to the lead. Source of the codes: the platform's pages on the methods.
func faultOf(err error) (f flows.Fault, ok bool) {
	if !chat.Refused(err) {
		return "", false
	}
	is := func(codes ...string) bool { return chat.Refused(err, codes...) }
	switch {
	case is("internal_error", "fatal_error", "request_timeout", "service_unavailable", "ratelimited", "team_added_to_org", "org_login_required"):
		return "", false
	case is("missing_scope", "not_allowed_token_type"):
		return flows.FaultScope, true
	case is("canvas_disabled_user_team", "canvas_disabled_file_team", "canvas_globally_disabled", "feature_not_enabled", "not_implemented"):
		return flows.FaultOff, true
	case is("team_tier_cannot_create_channel_canvases", "free_teams_cannot_create_non_tabbed_canvases",
		"free_teams_cannot_create_standalone_canvases", "free_teams_cannot_edit_standalone_canvases"):
		return flows.FaultPlan, true
	case is("free_team_canvas_tab_already_exists", "channel_canvas_already_exists"):
		return flows.FaultTaken, true
	case is("too_many_bookmarks", "too_many_tabs"):
		return flows.FaultFull, true
	case is("restricted_action", "access_denied", "permission_denied", "no_permission", "ekm_access_denied", "enterprise_is_restricted", "team_access_not_granted"):
		return flows.FaultBarred, true
	case errors.Is(err, chat.ErrForbidden):
		return "", false
	}
	return flows.FaultRefused, true
}
