package prompts

import (
	"slices"
	"strings"
	"unicode/utf8"
)

// A gist says what was said and never who said it: it quotes nobody, names
// nobody, and speaks of no single person or reason.

// quotedWords in a row that also stand in a reason are a quotation (our
// choice). Where no spaces part words, quotedLetters are.
const (
	quotedWords   = 5
	quotedLetters = 12
)

// quotationMarks set somebody's own words apart. Single ones are left out:
// they are apostrophes too.
const quotationMarks = "\"“”„‟«»「」『』＂"

// singlesOut tells whether a text quotes one of the reasons, or speaks of one
// person. What also stands in the assumption is everybody's.
func singlesOut(text string, reasons, names []string, assumption string) bool {
	return strings.ContainsAny(text, quotationMarks) || lone.in(text) || namesOne(text, names, assumption) ||
		slices.ContainsFunc(reasons, func(r string) bool { return quotes(text, r, assumption) })
}

// quotes finds a run of words, or of letters, of one reason in a text.
func quotes(text, reason, assumption string) bool {
	words, theirs, ours := wordsOf(text), spaced(reason), spaced(assumption)
	for i := range max(len(words)-quotedWords+1, 0) {
		run := " " + strings.Join(words[i:i+quotedWords], " ") + " "
		if strings.Contains(theirs, run) && !strings.Contains(ours, run) {
			return true
		}
	}
	if !running(text) {
		return false
	}
	letters, theirs, ours := []rune(packed(text)), packed(reason), packed(assumption)
	for i := range max(len(letters)-quotedLetters+1, 0) {
		run := string(letters[i : i+quotedLetters])
		if strings.Contains(theirs, run) && !strings.Contains(ours, run) {
			return true
		}
	}
	return false
}

// namesOne finds a person's name, or a part of it, as names are written: a
// name may also be an everyday word.
func namesOne(text string, names []string, assumption string) bool {
	has := func(text, name string) bool {
		return slices.Contains(strings.FieldsFunc(text, func(r rune) bool { return !partOfWord(r) }), name)
	}
	for _, whole := range names {
		for _, name := range strings.FieldsFunc(whole, func(r rune) bool { return !partOfWord(r) }) {
			if utf8.RuneCountInString(name) < 3 && !running(name) {
				continue
			}
			if (has(text, name) || running(name) && strings.Contains(text, name)) && !strings.Contains(assumption, name) {
				return true
			}
		}
	}
	return false
}

// lone is words for one person, or one reason, among those who gave some.
var lone = phrases(`
en: one person, one participant, one rater, one colleague, one member, one of them, one of the, one reason, one says, one writes, one thinks, one believes, another person, another says, another writes, another thinks, somebody says, somebody said, somebody writes, somebody wrote, somebody thinks, somebody here, someone says, someone said, someone writes, someone wrote, someone thinks, someone here, a colleague, a participant, a rater, a team member, a single person, a single voice, he says, she says, he thinks, she thinks, he writes, she writes, the author, the writer, whoever wrote, only one, just one, the lead says, the lead thinks, a lone
de: eine person, ein teilnehmer, eine teilnehmerin, ein kollege, eine kollegin, einer von ihnen, eine von ihnen, ein grund sagt, jemand sagt, jemand schreibt, jemand meint, eine einzelne, ein einzelner, er sagt, sie sagt, der verfasser, die verfasserin, nur einer, nur eine
fr: une personne, un participant, une participante, un collègue, une collègue, l un d eux, l une d elles, l un d entre eux, quelqu un dit, quelqu un pense, quelqu un écrit, une seule personne, l auteur, ?il dit, ?elle dit
es: una persona, un participante, una participante, un compañero, una compañera, uno de ellos, una de ellas, alguien dice, alguien piensa, alguien escribe, una sola persona, el autor, la autora
pt: uma pessoa, um participante, uma participante, um colega, uma colega, um deles, uma delas, alguém diz, alguém pensa, alguém escreve, uma só pessoa, o autor, a autora
it: una persona, un partecipante, una partecipante, un collega, una collega, uno di loro, una di loro, qualcuno dice, qualcuno pensa, qualcuno scrive, una sola persona, l autore, l autrice
nl: één persoon, een persoon, een deelnemer, een collega, één van hen, een van hen, iemand zegt, iemand vindt, iemand schrijft, de schrijver
pl: jedna osoba, jeden z uczestników, jedna z osób, ktoś mówi, ktoś pisze, ktoś uważa
ru: один человек, один из, одна из, кто то говорит, кто то пишет, кто то считает
uk: одна людина, один із, одна з, хтось каже, хтось пише, хтось вважає
tr: bir kişi, biri diyor, birisi diyor, bir katılımcı
zh: ~有一个人, ~有个人, ~其中一人, ~某人说, ~有人写道, ~一位同事
ja: ~ある人, ~一人は, ~誰かが, ~ある参加者, ~ある同僚
ko: ~한 사람은, ~한 명은, ~누군가는, ~어떤 사람은
`)
