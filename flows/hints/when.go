package hints

import "regexp"

// AsksWhen reports that a question wants to know by when something is built, such as
// "When does it ship?" or "By what date will the app be live?". It knows English only,
// and where in doubt it says no.
func AsksWhen(text string) bool { return whenBuilt.MatchString(fold(text)) }

// whenBuilt is a word that asks for a time, then close to each other what is built, and
// that it is there; or the name of such a date.
var whenBuilt = regexp.MustCompile(`\b(?:when(?:'s| will| would| does| do| is| are| can| could| shall| should| might)` +
	`|how soon (?:will|would|does|do|is|are|can|could|shall|should)|how long until|(?:what|which) (?:date|day|week|month|quarter|year) (?:will|would|does|do|is|are|can|could|shall|should))` +
	` (?:\S+ ){0,5}?(?:it|this|that|we|you|they|these|something|anything|app|feature|page|product|tool|service|thing|solution|system|site|website|change|project|release|launch)` +
	` (?:\S+ ){0,4}?(?:live|ships?|shipped|shipping|built|build|building|ready|released?|launch(?:es|ed)?|available|delivered|rolled out|implemented|finished|done|in production)\b` +
	`|\b(?:release|launch|delivery|go-live|shipping) date\b`)
