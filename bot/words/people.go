package words

import "soundings/flows"

// RingText names a ring within a sentence.
func RingText(r flows.Ring) string {
	if r == flows.Core {
		return "core team"
	}
	return string(r)
}

// LeadName is the name of the first lead, clipped for a sentence.
func LeadName(k flows.Kickoff) string { return Clip(k.Name(k.Lead().ID), 60) }
