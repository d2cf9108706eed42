package fakeslack

// verificationToken stands in a field that the platform still fills and that
// no one should trust: requests are verified by their signature.
const verificationToken = "rehearsal"

// acted is what every interaction payload says about who acted and where.
func (w *core) acted(kind string, u *User) reply {
	return reply{
		"type": kind, "token": verificationToken, "api_app_id": w.app,
		"team":       reply{"id": w.team, "domain": w.domain()},
		"user":       reply{"id": u.ID, "username": u.Name, "name": u.Name, "team_id": u.Team},
		"enterprise": nil, "is_enterprise_install": false,
	}
}

// placeJSON names a channel in a payload; private conversations have a stock
// name.
func placeJSON(c *channel) reply {
	name := c.Name
	switch {
	case c.IM:
		name = "directmessage"
	case c.MPIM:
		name = "mpdm"
	case c.Private:
		name = "privategroup"
	}
	return reply{"id": c.ID, "name": name}
}
