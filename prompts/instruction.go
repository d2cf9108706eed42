package prompts

import (
	"regexp"
	"slices"
	"strings"
)

// isInstruction tells whether a text speaks to its reader, asks for
// something, gives itself out for somebody, decides what is not its to
// decide, or speaks of the model and what it was told. A problem statement
// does none of this, whatever the problem; but one that says that people must
// click, vote, or give away money or passwords is taken for an order, and has
// to be worded otherwise.
func isInstruction(text string) bool {
	return addresses.in(appointment.ReplaceAllString(text, "$1")) || commands.starts(text) || betrays.in(text) ||
		duties.in(text) && deeds.in(text) || speaksFormally(text) ||
		slices.ContainsFunc(orders, func(r *regexp.Regexp) bool { return r.MatchString(strings.TrimSpace(spaced(text))) }) ||
		speaker.MatchString(text)
}

// appointment is the French word that holds a you.
var appointment = regexp.MustCompile(`(?i)\b(rendez)-vous\b`)

// orders tell a group what to do, or that something is decided; they read
// text as spaced gives it.
var orders = []*regexp.Regexp{
	regexp.MustCompile(`(?:^| )(?:everyone|everybody|anyone|participants?|raters?|voters?|colleagues|the team|the lead|leads|admins?|administrators?|moderators?|readers?|this channel)(?: \p{L}+){0,2} ` +
		`(?:must|should|shall|has to|have to|needs? to|ought to|is to|are to|will)(?: \p{L}+)? (?:vote|rate|tick|choose|approve|send|reply|click|forward|transfer|confirm|resign|accept|agree|pay|pick|give|post|log|sign|install|download)(?: |$)`),
	regexp.MustCompile(`(?:^| )(?:the|this|that|our) (?:vote|voting|rating|kickoff|stage|round|poll|ballot|discovery|decision|time box)(?: \p{L}+)? (?:is|has been|was|are) (?:now |already |hereby )?(?:closed|over|cancelled|canceled|decided|finished|settled|approved|ended|stopped|final)(?: |$)`),
	regexp.MustCompile(`(?:^| )(?:alle|jeder|teilnehmer|teilnehmende|das team)(?: \p{L}+){0,2} (?:müssen|muss|sollen|sollten|soll)(?: \p{L}+){0,6} (?:abstimmen|bewerten|wählen|klicken|schicken|senden|antworten|bestätigen|überweisen|geben|stimmen)(?: |$)`),
	regexp.MustCompile(`(?:^| )(?:tous|toutes|chacun|les participants|l équipe)(?: \p{L}+){0,2} (?:doivent|doit|devez)(?: \p{L}+)? (?:voter|noter|cliquer|envoyer|répondre|choisir|approuver|confirmer|verser)(?: |$)`),
	regexp.MustCompile(`(?:^| )(?:todos|todas|los participantes|os participantes|el equipo|a equipe|a equipa)(?: \p{L}+){0,2} (?:deben|debe|devem|deve|tienen que|têm de|têm que)(?: \p{L}+)? (?:votar|puntuar|clicar|enviar|responder|elegir|escolher|aprobar|aprovar|confirmar)(?: |$)`),
	regexp.MustCompile(`(?:^| )(?:все|каждый|участники|команда|усі|всі|кожен|учасники)(?: \p{L}+){0,2} (?:должны|должен|должна|обязаны|повинні|повинен|мають)(?: \p{L}+)? (?:проголосовать|голосовать|оценить|отправить|ответить|выбрать|подтвердить|проголосувати|голосувати|оцінити|надіслати|відповісти|обрати|підтвердити)(?: |$)`),
}

// formalYou finds the German words that mean you only with a capital letter,
// and only inside a sentence.
var formalYou = regexp.MustCompile(`[\p{L},] (?:Sie|Ihr|Ihre|Ihren|Ihrem|Ihrer|Ihnen)(?:[^\p{L}]|$)`)

func speaksFormally(text string) bool {
	return formalYou.MatchString(text) && slices.Contains(languagesOf(text), "de")
}

// speaker finds a text that gives itself a speaker, as in a transcript.
var speaker = regexp.MustCompile(`(?i)(?:^|[.!?] )\W*(?:system|assistant|user|developer|tool|admin|moderator|note|warning|system ?prompt|ai|human)\s*[:：]`)

// takesSides finds a word that weighs. That one of the reasons has it is no
// excuse: the gist says what people say and not what they think of others.
func takesSides(text string) bool { return sides.in(text) }
