package guide

// The methods by kind of risk, in the words of this project.

var analyticsReview = Method{
	Name:       "Analytics review",
	Tells:      "what people do today, how often, and where they give up.",
	CannotTell: "why they do it, or anything about those who never came.",
	EffortDays: 2, LeadDays: 2, People: true,
	Sample: toMeasure("visits or cases", 0.05, 0.5),
}

var desirabilityMethods = []Method{
	analyticsReview,
	{
		Name:       "Observation on the spot",
		Tells:      "what people really do, where and when, which is often not what they say.",
		CannotTell: "why they do it, unless you ask them afterwards.",
		EffortDays: 3, LeadDays: 3, People: true,
		Sample: toDiscover("people", 0.31, 0.85),
	},
	{
		Name:       "Landing-page test",
		Tells:      "whether people act on the promise: leave an address, ask for a date.",
		CannotTell: "whether they would still use it, or pay, once the novelty is gone.",
		EffortDays: 3, LeadDays: 3, People: true,
		Sample: toMeasure("visitors", 0.05, 0.1),
	},
	{
		Name:       "Survey",
		Tells:      "how many hold a view or do a thing, among those who answer.",
		CannotTell: "why, or what they will do: answers about the future are guesses.",
		EffortDays: 3, LeadDays: 5, People: true,
		Sample: toMeasure("answers", 0.05, 0.5),
	},
	{
		Name:       "Interviews",
		Tells:      "what people do today, why, and what it costs them, in their own words.",
		CannotTell: "how many are like them, or what they would pay: people are kind about ideas.",
		EffortDays: 5, LeadDays: 5, People: true,
		Sample: toDiscover("people", 0.2, 0.9),
	},
	{
		Name:       "Concierge trial",
		Tells:      "whether people come back for the result when you bring it about by hand.",
		CannotTell: "what it costs, and whether it holds, for many.",
		EffortDays: 8, LeadDays: 5, People: true,
		Sample: toDiscover("people", 0.31, 0.85),
	},
}

var viabilityMethods = []Method{
	{
		Name:       "Unit-economics sheet",
		Tells:      "what one customer or case must bring in and may cost, and which figure decides.",
		CannotTell: "whether the figures that you guessed are right.",
		EffortDays: 2,
	},
	{
		Name:       "Legal check",
		Tells:      "which laws, permits and contracts apply, and who has to agree.",
		CannotTell: "how an authority will decide, until you have it in writing.",
		EffortDays: 2, LeadDays: 10,
	},
	{
		Name:       "Market sizing",
		Tells:      "roughly how many could ever want it: from people, how often and how much, and again from public totals.",
		CannotTell: "how many of them you would reach.",
		EffortDays: 3, LeadDays: 2,
	},
	{
		Name:       "Talks with those who must agree",
		Tells:      "what partners, sales, support or finance would need in order to say yes.",
		CannotTell: "whether they still say yes when it costs them something: ask for it in writing.",
		EffortDays: 3, LeadDays: 5, People: true,
	},
	{
		Name:       "Pricing study",
		Tells:      "the range in which a price seems neither too dear nor suspiciously cheap.",
		CannotTell: "what people pay when the money is their own.",
		EffortDays: 4, LeadDays: 5, People: true,
		Sample: toMeasure("answers", 0.1, 0.5),
	},
	{
		Name:       "Pre-order",
		Tells:      "whether people commit money or a signature before it exists. Say openly that it does not, and take nothing that you cannot give back.",
		CannotTell: "whether they are content once they have it.",
		EffortDays: 5, LeadDays: 5, People: true,
		Sample: toMeasure("offers", 0.1, 0.5),
	},
}

var feasibilityMethods = []Method{
	{
		Name:       "Data check",
		Tells:      "whether the data are there, complete and right: look at a random sample by hand.",
		CannotTell: "whether they will stay so.",
		EffortDays: 2, LeadDays: 2,
		Sample: toMeasure("records", 0.05, 0.5),
	},
	{
		Name:       "Walk-through with those who will run it",
		Tells:      "what breaks in daily work, step by step through a real day.",
		CannotTell: "how it goes when people are few and tired.",
		EffortDays: 2, LeadDays: 5, People: true,
		Sample: toDiscover("people", 0.31, 0.85),
	},
	{
		Name:       "Vendor check",
		Tells:      "whether something that can be bought does the job, at which price, on which terms.",
		CannotTell: "how it copes with your data and your worst day, until you have tried it.",
		EffortDays: 2, LeadDays: 10,
	},
	{
		Name:       "Technical spike",
		Tells:      "whether the hardest piece can be made with what you have.",
		CannotTell: "what the whole will cost to build and to run.",
		EffortDays: 3,
	},
	{
		Name:       "Back-test",
		Tells:      "how well a rule or a forecast would have done on past cases.",
		CannotTell: "whether the future is like the past.",
		EffortDays: 3, LeadDays: 2,
		Sample: toMeasure("past cases", 0.1, 0.5),
	},
	{
		Name:       "Trial under real conditions",
		Tells:      "how often it works where it has to: the weather, the rush, the network.",
		CannotTell: "much about rare failures: none in 100 trials still leaves room for 3 in 100.",
		EffortDays: 5, LeadDays: 5,
		Sample: toMeasure("trials", 0.1, 0.5),
	},
}

var usabilityMethods = []Method{
	analyticsReview,
	{
		Name:       "First-click test",
		Tells:      "whether people start in the right place.",
		CannotTell: "whether they get to the end.",
		EffortDays: 2, LeadDays: 2, People: true,
		Sample: toMeasure("people", 0.1, 0.5),
	},
	{
		Name:       "Accessibility check",
		Tells:      "who would be shut out: by small print, by colour alone, without a mouse, with a screen reader.",
		CannotTell: "how it feels to use: try it with some of the people concerned.",
		EffortDays: 2, LeadDays: 2,
	},
	{
		Name:       "Card sort",
		Tells:      "how people group and name things.",
		CannotTell: "whether they find them again: follow it with a first-click test.",
		EffortDays: 2, LeadDays: 3, People: true,
		Sample: toGroup(),
	},
	{
		Name:       "Comprehension test",
		Tells:      "what people understand a text or a sign to say, in their own words.",
		CannotTell: "whether they notice it when they are in a hurry.",
		EffortDays: 2, LeadDays: 3, People: true,
		Sample: toMeasure("people", 0.15, 0.5),
	},
	{
		Name:       "Prototype walk-through",
		Tells:      "where people get stuck or misunderstand, long before anything is built.",
		CannotTell: "how many would get stuck, or whether they want it.",
		EffortDays: 4, LeadDays: 3, People: true,
		Sample: toDiscover("people", 0.31, 0.85),
	},
	{
		Name:       "Split test",
		Tells:      "which of two versions more people get right or act on.",
		CannotTell: "why, or whether a third would be better.",
		EffortDays: 4, LeadDays: 5, People: true,
		Sample: toCompare("people for each version", 0.1, 0.05),
	},
	{
		Name:       "Usability test",
		Tells:      "whether people get a real task done without help, and what goes wrong.",
		CannotTell: "whether they would come of their own accord.",
		EffortDays: 5, LeadDays: 5, People: true,
		Sample: toDiscover("people", 0.2, 0.85),
	},
}
