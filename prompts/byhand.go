package prompts

// LongestOpening is how many characters an opening has at most: what a list
// to pick from shows of an option.
const LongestOpening = 75

// Questions are what to ask oneself for a wording on a rung of the ladder,
// from +2 to -2, the one that helps most first. They go from the original
// step by step: the questions for +2 start from a wording on +1. A level off
// the ladder has none.
//
// They are questions that the trade asks when it goes up and down a ladder of
// abstraction, in our words.
func Questions(level int) []string {
	switch level {
	case 2:
		return []string{
			"Take the wording one step broader and ask again: why does that matter to people?",
			"What are people after in the end, of which this is one part?",
			"Who else has the same trouble, in quite another place?",
			"If it were gone for good, what would be different in people's lives?",
		}
	case 1:
		return []string{
			"Why does this matter to the people who have it?",
			"What would they do that they cannot do now?",
			"What does it lead to: what do people put off, give up or pay for?",
			"Who else is in the same position for another reason?",
		}
	case 0:
		return []string{
			"Who has the problem, and what exactly can they not do?",
			"How would somebody who has it say it, without our words?",
			"Does it name a cause or a solution? What is left without it?",
		}
	case -1:
		return []string{
			"Where and when does it show most?",
			"Who has it worst, and what is special about them?",
			"What did it look like the last time that somebody told us of it?",
			"What gets in the way just before it happens?",
		}
	case -2:
		return []string{
			"Take the wording one step narrower and ask again: for whom, when, where exactly?",
			"Which single moment would we film to show it to somebody?",
			"What does one person in that moment see, think, and not know?",
			"Which of these cases could we watch within a week?",
		}
	}
	return nil
}

// Openings are how a wording on a rung may begin, from +2 to -2, to be picked
// from a list and completed in a few words: the dots stand for what people
// fill in. A level off the ladder has none. Each is at most [LongestOpening]
// characters.
func Openings(level int) []string {
	switch level {
	case 2:
		return []string{
			"People cannot count on … for …",
			"People do without … because …",
			"Those who … feel that … is not made for them.",
			"It takes people … to … although they only want to …",
			"Nobody … can plan for … when …",
		}
	case 1:
		return []string{
			"People who … find out too late that …",
			"People who … have to choose between … and …",
			"People who … put off … because …",
			"Before they …, people have no way to know …",
			"People who … spend more on … than on …",
		}
	case 0:
		return []string{
			"People who … cannot …, because …",
			"When …, people who … do not know …",
			"It is hard for … to …",
		}
	case -1:
		return []string{
			"On days when …, people who … cannot …",
			"The first time that somebody …, they …",
			"People who … and also … are the ones who …",
			"At …, where …, people …",
			"Just before …, people who … still do not know …",
		}
	case -2:
		return []string{
			"At the moment when …, the person who … does not see …",
			"Somebody who is … for the first time stands … and …",
			"On … at …, a … who … has no …",
			"Of all the steps to …, the one that goes wrong is …",
			"When … asks …, nobody there can say …",
		}
	}
	return nil
}

// PlainerQuestions are what to ask oneself about an assumption that others
// find hard to read.
func PlainerQuestions() []string {
	return []string{
		"Who is it about, and what exactly do they do or not do?",
		"Which word would somebody new here not know?",
		"How would it sound if it were said aloud at a bus stop?",
		"How could it turn out wrong?",
	}
}

// GistRules are what should be true of a gist of unsigned reasons before
// others read it.
func GistRules() []string {
	return []string{
		"Nobody can tell from it who wrote what.",
		"It repeats nobody's own words.",
		"Each side finds itself in it, and neither wins.",
		"It adds nothing that the reasons do not say.",
	}
}
