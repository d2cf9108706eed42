package prompts

import (
	"slices"
	"strings"
)

// grammarWords are words by which a language is told, as people write them,
// and words that carry no meaning of their own. From memory. Short on purpose:
// a language that is not here is told by its script alone, and its texts pass.
const grammarWords = `
en: the a an of to in on at by for from with and or but if that which who this these those there it is are was
	were be been has have had will would can could cannot may might must not no their they them we our he she his
	her its than so when where while how what why before after until whether into about only because as do does
	any some all more most out up other
de: der die das den dem des ein eine einen einem einer und oder aber wenn dass ob ist sind war waren wird werden
	kann können nicht kein keine haben hat sie er es wir ihr ihre ihren mit von zu zum zur im in am an auf bei für
	aus um als wie so sich auch nur noch bevor nach vor bis weil ohne durch
fr: le la les un une des du de et ou mais si que qui est sont était ne pas plus il elle ils elles nous leur leurs
	son sa ses ce cette ces dans sur au aux avec pour par avant après sans comme quand où on peut peuvent se en
	savoir être avoir ont a y
es: el la los las un una unos unas de del y o pero si que quien es son era no más ellos ellas nosotros su sus este
	esta estos en con por para antes después hasta sin como cuando donde se al lo le les pueden puede hay ha han muy
pt: o a os as um uma de do da dos das e ou mas se que quem é são era não mais eles elas nós seu sua seus suas este
	esta em no na nos nas com por para antes depois até sem como quando onde ao aos há pode podem têm tem
it: il lo la i gli le un una di del della dei delle e o ma se che chi è sono era non più loro noi suo sua questo
	questa in nel nella con per da dal prima dopo fino senza come quando dove si al alla ai può possono ha hanno c'è
nl: de het een van en of maar als dat die wie is zijn was waren niet geen hun ze zij we wij ons onze haar deze dit
	in op met voor door bij na tot zonder hoe wanneer waar of kan kunnen heeft hebben er om te aan uit naar
sv: och det att en ett som är inte på för av med den de till om var har kan men från när vid innan eller deras vi
	sig så ut inga utan
da: og det at en et som er ikke på for af med den de til om var har kan men fra når ved før eller deres vi sig så
	ud ingen uden der
fi: ja on ei ole että se ne kun jos tai mutta ovat voi voivat ennen kuin mitä joka jotka heidän sen vain vaan eivät
pl: i w na z ze że nie się jest są do od po za o dla przed czy który która które ale lub jak kiedy gdzie ich to ten
	ta te tego przez bez tylko może mogą mają oraz by
cs: a v na s se že ne je jsou do od po za o pro před zda který která které ale nebo jak když kde jejich to ten ta
	bez jen může mohou mají aby není
ro: și în la cu de pe că nu este sunt din pentru care dar sau dacă când unde lor lui ei o un cum înainte până fără
	au are se mai
hu: a az és hogy nem van vannak egy meg ha de vagy mert ki mi aki ami előtt után csak nincs tudják lehet is
tr: ve bir bu da de için ile olan olarak değil var yok mi mı mu mü ne gibi daha önce sonra kadar ama veya çünkü
	her olup
id: yang dan di ke dari untuk dengan tidak ini itu atau tetapi adalah pada sebelum sesudah mereka kami bisa dapat
	ada akan saat karena apakah
vi: và của là không có được cho với các những một trong trước khi sau họ thể hay nhưng để còn đã này thì
sw: na ya wa kwa ni katika kabla hawana hawawezi kama au lakini yao wao hii hilo cha za la kuwa
ru: и в во на с со что не как по из за от до для к о об но или если когда где они их его её мы это этот эта который
	которая которые ли перед без только может могут есть нет чтобы
uk: і й в у на з що не як по із за від до для та але або якщо коли де вони їх його її ми це цей ця який яка які чи
	перед без тільки може можуть є немає щоб
bg: и в на с че не как по от за до но или ако когато къде те им тяхното ние това този която които дали преди без
	само може могат е са няма да се
ar: في من على إلى عن أن لا ما هل قبل بعد هذا هذه التي الذي الذين هم كان لم أو و مع كل حتى إذا ليس
fa: و در به از که را با این آن برای است نیست می تا یا اگر هم پیش قبل آنها ها هر بر نمی
ur: اور میں کے کی کا کو سے ہے ہیں نہیں یہ وہ پر نے کہ تک پہلے ان جو
he: של את על אל לא אם כי הוא היא הם אין יש לפני אחרי עם זה או גם רק כל מה
hi: के की का को में से है हैं नहीं यह वह पर और कि पहले उनके या तक जो ही भी तो
`

// A tongue is a language, as its commonest words.
type tongue struct {
	code  string
	words map[string]bool
}

// tongues are the languages of grammarWords, in its order.
var tongues = readTongues(grammarWords)

func readTongues(list string) []tongue {
	var all []tongue
	for line := range strings.Lines(list) {
		code, rest, ok := strings.Cut(line, ":")
		if ok {
			all = append(all, tongue{code, map[string]bool{}})
		} else {
			rest = line
		}
		for _, w := range wordsOf(rest) {
			all[len(all)-1].words[w] = true
		}
	}
	return all
}

// isGrammar tells whether a word carries grammar in any known language.
func isGrammar(word string) bool {
	return slices.ContainsFunc(tongues, func(t tongue) bool { return t.words[word] })
}

// scores counts, for each of tongues, the words of a text that are its.
func scores(text string) []int {
	counts := make([]int, len(tongues))
	for _, w := range wordsOf(text) {
		for i, t := range tongues {
			if t.words[w] {
				counts[i]++
			}
		}
	}
	return counts
}

// languagesOf guesses the language of a text: those of which it has most
// words, none if it has none.
func languagesOf(text string) []string {
	counts := scores(text)
	most := slices.Max(counts)
	var codes []string
	for i, n := range counts {
		if n == most && n > 0 {
			codes = append(codes, tongues[i].code)
		}
	}
	return codes
}

// surplus is how many more words of another language than of the original's a
// text needs to be taken for the other. One may be a name, or a coincidence
// of two related languages.
const surplus = 2

// sameLanguage tells whether a text is in the script and, as far as its
// commonest words tell, in the language of the originals.
func sameLanguage(originals []string, text string) bool {
	original := strings.Join(originals, " ")
	if !sameScript(original, text) {
		return false
	}
	wanted, got := scores(original), scores(text)
	most, best := slices.Max(wanted), slices.Max(got)
	own := 0 // of the text's words, in the language of the original
	for i, n := range wanted {
		if n == most && n > 0 {
			own = max(own, got[i])
		}
	}
	if most == 0 {
		return best <= surplus
	}
	return best-own < surplus
}
