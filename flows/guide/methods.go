package guide

// The methods by kind of risk, in the words of this project.

var knownReview = Method{
	Name:       "Review of what is known",
	Tells:      "what research, support cases, records and people who tried before have found.",
	CannotTell: "whether that is still so, and so for the people you mean.",
	Mind:       "Begin here. Note who found it, when, and how many cases it rests on. Ask those who tried and gave up, too.",
	EffortDays: 1, People: true, Mark: yes,
}

var shouldWe = Method{
	Name:       "“Should we?” talk",
	Tells:      "who could be harmed, left out or put under pressure, and what would have to change so that nobody is.",
	CannotTell: "how often it will happen: watch for it once something runs.",
	Mind:       "Name each group that is touched, also those who never use it, and hear somebody from each. Write down what you will not do, however many want it.",
	EffortDays: 1, LeadDays: 3, People: true, Mark: yes,
}

var analyticsReview = Method{
	Name:       "Analytics review",
	Tells:      "what people do today, how often, and where they give up.",
	CannotTell: "why they do it, or anything about those who never came.",
	Mind: "Take all the cases of a whole period, busy and quiet days alike: then no number has to be worked out. " +
		"Write down beforehand what you will count.",
	EffortDays: 2, LeadDays: 2, People: true, Mark: yes,
}

var desirabilityMethods = []Method{
	knownReview,
	shouldWe,
	analyticsReview,
	{
		Name:       "Forced ranking of troubles",
		Tells:      "where this trouble stands among the others that the same people have.",
		CannotTell: "whether they would do anything about it.",
		Mind:       "Let each person put all their troubles in order, ours among them and in no special place. Count who puts it in the first three.",
		EffortDays: 2, LeadDays: 3, People: true,
		Sample: toPass("people", 0.5), Mark: share(0.5),
	},
	{
		Name:       "Observation on the spot",
		Tells:      "what people really do, where and when, which is often not what they say.",
		CannotTell: "why they do it, unless you ask them afterwards.",
		Mind:       "Stay for whole shifts, a busy one and a quiet one. Stop when a shift brings nothing new. Say who you are and why you are there.",
		EffortDays: 3, LeadDays: 3, People: true, Mark: yes,
	},
	{
		Name:       "Landing-page test",
		Tells:      "whether people act on the promise: leave an address, ask for a date.",
		CannotTell: "whether they would use it, or pay, once it is there.",
		Mind: "Say at once, before anybody gives an address, that it does not exist yet. Keep addresses for this only, and delete them on a day that you name. " +
			"Never do this about care, or where somebody needs help now.",
		EffortDays: 3, LeadDays: 3, People: true,
		Sample: toPass("visitors", 0.05), Mark: share(0.05),
	},
	{
		Name:       "Survey",
		Tells:      "how many hold a view or do a thing, among those who answer.",
		CannotTell: "what those think who do not answer, or what people will do: answers about the future are guesses.",
		Mind: "Invite about 10 people for each answer. Those who answer differ from those who do not: compare them with what you know of everybody. " +
			"Ask what people did, in words that do not hint at an answer. Do not ask how far they agree: people tend to.",
		EffortDays: 3, LeadDays: 5, People: true,
		Sample: toMeasure("answers", 0.05), Mark: share(0.5),
	},
	{
		Name:       "Diary",
		Tells:      "what happens over days, when it happens, and what people make of it.",
		CannotTell: "what they do not notice, or forget to write down.",
		Mind:       "One short entry a day, asked for at the same hour. Pay for the time. Begin with more people than you need, since some stop.",
		EffortDays: 4, LeadDays: 5, People: true, Mark: yes,
	},
	{
		Name:       "Interviews",
		Tells:      "what people do today, why, and what it costs them, in their own words.",
		CannotTell: "how many are like them, or what they would pay: people are kind about ideas.",
		Mind: "Talk to each kind of person that matters. Ask what they did last time, not what they would do. " +
			"Stop with a kind when two people in a row bring nothing new. No share counts as support here: nobody was drawn at random.",
		EffortDays: 5, LeadDays: 5, People: true, Mark: yes,
		Sample: observed("people of each kind", "few new things are heard after 9 to 17 people who are alike", 9,
			"lower end of 9 to 17 interviews with people who are alike (Hennink & Kaiser 2022, Social Science & Medicine 292)"),
	},
	{
		Name:       "Concierge trial",
		Tells:      "whether people come back for the result when you bring it about by hand.",
		CannotTell: "what it costs, and whether it works, for many.",
		Mind:       "Say that it is done by hand and for how long. Take people as they come, not those who like you. Count who comes back unasked.",
		EffortDays: 8, LeadDays: 5, People: true,
		Sample: toPass("people", 0.5), Mark: share(0.5),
	},
}

var viabilityMethods = []Method{
	knownReview,
	shouldWe,
	{
		Name:       "Unit-economics sheet",
		Tells:      "what one customer or case must bring in and may cost, and which figure decides.",
		CannotTell: "whether the figures that you guessed are right.",
		Mind:       "Write each figure as a range, with where it comes from. Then find out about the one that decides.",
		EffortDays: 2, Mark: Mark{AtLeast: 1, Unit: "EUR a case", Source: commonPractice},
	},
	{
		Name:       "Legal check",
		Tells:      "which laws, permits and contracts apply, and who has to agree.",
		CannotTell: "how an authority will decide, until you have it in writing.",
		Mind:       "Ask whoever is in charge of the law where it will be used, and early: the waiting is what takes long.",
		EffortDays: 2, LeadDays: 10, Mark: yes,
	},
	{
		Name:       "Market sizing",
		Tells:      "roughly how many could ever want it: from people, how often and how much, and again from public totals.",
		CannotTell: "how many of them you would reach.",
		Mind:       "Do it both ways, and find out why they differ. Write down beforehand how many would be enough.",
		EffortDays: 3, LeadDays: 2, Mark: yes,
	},
	{
		Name:       "Talks with those who must agree",
		Tells:      "what partners, sales, support or finance would need in order to say yes.",
		CannotTell: "whether they still say yes when it costs them something.",
		Mind:       "Ask what they did about the last thing of this kind. Ask for the yes in writing, with its conditions.",
		EffortDays: 3, LeadDays: 5, People: true, Mark: yes,
	},
	{
		Name:       "Letters of intent",
		Tells:      "whether customers or partners put in writing that they would take part, and on which terms.",
		CannotTell: "whether they will: a letter binds nobody.",
		Mind:       "Say in the letter that it binds nobody and that it does not exist yet. Let them write the terms.",
		EffortDays: 3, LeadDays: 10, People: true,
		Mark: Mark{AtLeast: 3, Unit: "letters", Source: commonPractice},
	},
	{
		Name:       "Pricing study",
		Tells:      "the range in which a price seems neither too dear nor suspiciously cheap.",
		CannotTell: "what people pay when the money is their own: they say more than they pay.",
		Mind:       "Ask people who have bought something like it. Name no price first. Fix beforehand which price you need.",
		EffortDays: 4, LeadDays: 5, People: true, Mark: yes,
		Sample: toMeasure("answers", 0.1),
	},
	{
		Name:       "Pre-order",
		Tells:      "whether people commit money or a signature before it exists.",
		CannotTell: "whether they are content once they have it.",
		Mind:       "Say openly that it does not exist yet, and by when it will. Take nothing that you cannot give back.",
		EffortDays: 5, LeadDays: 5, People: true,
		Sample: toPass("offers", 0.1), Mark: share(0.1),
	},
}

var feasibilityMethods = []Method{
	knownReview,
	{
		Name:       "Data check",
		Tells:      "whether the data are there, complete and right.",
		CannotTell: "whether they will stay so.",
		Mind:       "Draw the records at random, and look at each by hand. Say beforehand what counts as right.",
		EffortDays: 2, LeadDays: 2,
		Sample: toPass("records", 0.95), Mark: share(0.95),
	},
	{
		Name:       "Walk-through with those who will run it",
		Tells:      "what breaks in daily work, step by step through a real day.",
		CannotTell: "how it goes when people are few and tired.",
		Mind:       "Bring somebody from each role that touches it. Go through the worst day as well, and stop when nothing new breaks.",
		EffortDays: 2, LeadDays: 5, People: true, Mark: yes,
	},
	{
		Name:       "Vendor check",
		Tells:      "whether something that can be bought does the job, at which price, on which terms.",
		CannotTell: "how it copes with your data and your worst day, until you have tried it.",
		Mind:       "Write down what it has to do before you see it. Ask somebody who uses it and was not named by the seller.",
		EffortDays: 2, LeadDays: 10, Mark: yes,
	},
	{
		Name:       "Technical spike",
		Tells:      "whether the hardest piece can be made with what you have.",
		CannotTell: "what the whole will cost to build and to run.",
		Mind:       "Before you begin, set a time limit and write down when it is done. What comes out is knowledge; throw the rest away.",
		EffortDays: 3, Mark: yes,
	},
	{
		Name:       "Back-test",
		Tells:      "how well a rule or a forecast would have done on past cases.",
		CannotTell: "whether the future is like the past.",
		Mind:       "Fix the rule before you see the cases, and do not change it afterwards. Take cases that nobody used to find the rule.",
		EffortDays: 3, LeadDays: 2,
		Sample: toPass("past cases", 0.8), Mark: share(0.8),
	},
	{
		Name:       "Trial under real conditions",
		Tells:      "how often it works where it has to: the weather, the rush, the network.",
		CannotTell: "much about rare failures: none in 100 trials still leaves room for 3 in 100.",
		Mind:       "Choose the days beforehand, bad ones too. Count every trial, also those that went wrong for another reason.",
		EffortDays: 5, LeadDays: 5,
		Sample: toPass("trials", 0.95), Mark: share(0.95),
	},
}

var usabilityMethods = []Method{
	knownReview,
	analyticsReview,
	{
		Name:       "First-click test",
		Tells:      "whether people start in the right place.",
		CannotTell: "whether they get to the end.",
		Mind:       "Give a task in words that do not stand on the page. Only the first click counts.",
		EffortDays: 2, LeadDays: 2, People: true,
		Sample: toPass("people", 0.8), Mark: share(0.8),
	},
	{
		Name:       "Accessibility check",
		Tells:      "who would be shut out: by small print, by colour alone, without a mouse, with a screen reader.",
		CannotTell: "how it feels to use: try it with some of the people concerned.",
		Mind:       "Go through a whole task by keyboard, then with a screen reader, then at twice the size of letters.",
		EffortDays: 2, LeadDays: 2, Mark: yes,
	},
	{
		Name:       "Card sort",
		Tells:      "how people group and name things.",
		CannotTell: "whether they find them again: follow it with a first-click test.",
		Mind:       "Put one thing on each card, in plain words. Let people name the groups themselves.",
		EffortDays: 2, LeadDays: 3, People: true, Mark: yes,
		Sample: observed("people", "more than 20 to 30 hardly change the groups", 20, "lower end of 20 to 30 people (Tullis & Wood 2004, UPA)"),
	},
	{
		Name:       "Comprehension test",
		Tells:      "what people understand a text or a sign to say, in their own words.",
		CannotTell: "whether they notice it when they are in a hurry.",
		Mind:       "Show it as it will be, and ask “what would you do now?” Count apart how many believe the opposite: more than 5% is too many.",
		EffortDays: 2, LeadDays: 3, People: true,
		Sample: toExclude("people", "believes the opposite", 0.05),
		Mark:   Mark{Share: 0.85, Source: "what the American standard Z535.3 asks of safety symbols (from memory)"},
	},
	{
		Name:       "Prototype walk-through",
		Tells:      "where people get stuck or misunderstand, long before anything is built.",
		CannotTell: "how many would get stuck, or whether they want it.",
		Mind:       "Give a task, then say nothing and watch. Mend what went wrong, and try again with others.",
		EffortDays: 4, LeadDays: 3, People: true, Mark: yes,
		Sample: toMeetProblems(),
	},
	{
		Name:       "Split test",
		Tells:      "which of two versions more people get right or act on.",
		CannotTell: "why, or whether a third would be better.",
		Mind: "Only where something runs already that many people use; before that there is nothing to split. Fix the number, and look once, when it is reached: " +
			"whoever looks each day finds a winner that is none.",
		EffortDays: 4, LeadDays: 5, People: true, Mark: yes,
		Sample: toCompare("people for each version", 0.1, 0.05),
	},
	{
		Name:       "Hand-operated prototype",
		Tells:      "how people get on with something that looks automatic while a person does the work behind it.",
		CannotTell: "whether a machine could do that work, or how fast.",
		Mind:       "Fix the rules by which the person behind it acts. Tell people afterwards that it was a person.",
		EffortDays: 5, LeadDays: 5, People: true, Mark: yes,
		Sample: toMeetProblems(),
	},
	{
		Name:       "Usability test",
		Tells:      "whether people get a real task done without help, and what goes wrong.",
		CannotTell: "whether they would come of their own accord.",
		Mind:       "Say beforehand when a task counts as done. Help nobody. Take people who will use it, not colleagues.",
		EffortDays: 5, LeadDays: 5, People: true,
		Sample: toPass("people", 0.8),
		Mark:   Mark{Share: 0.8, Source: "near to 78%, the mean of some 1,200 tasks (Sauro 2011, from memory)"},
	},
}
