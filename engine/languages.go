package engine

// A language is the few words of it that the comparison of sentences needs.
// Words are written as people write them; they are folded before use.
type language struct {
	// grammar are words that carry grammar rather than meaning: they weigh
	// little, and tell the language of a sentence.
	grammar string

	// denials turn a sentence into its denial.
	denials string

	// concord tells that several denials in a sentence make one: "no viene
	// nunca nadie". Elsewhere each turns the sentence round again.
	concord bool

	// opposites are lines of two sides each: a word of one side against a word
	// of the other makes two sentences opposites, or at least different.
	opposites string
}

// spokenLanguages are the languages with words between spaces that are known
// here. Kept small on purpose: what is missing costs a suggestion too many,
// not a wrong join, since people decide.
var spokenLanguages = []language{english, german, french, spanish, portuguese, italian, dutch}

var english = language{
	grammar: `a an the of to in on at by for from with and or but if that which who whom
		whose this these those there here it its is are was were be been being am do does
		did done have has had will would can could may might shall should must their they
		them we our us you your he she his her i my me as than then so too very just really
		simply only also about into onto any some such when where while how what why out up
		how many much more most less whether get gets got want s t`,
	denials: `not no never none nobody nothing nowhere without neither hardly barely
		scarcely unable lack lacks lacked lacking fail fails failed ain`,
	opposites: `
		high higher highest raised | low lower lowest
		more | less fewer
		most many much majority | few fewest least minority little
		all every each | some few
		always often usually frequently | rarely seldom sometimes occasionally
		before beforehand advance earlier | after afterwards later
		early earliest earlier soon sooner | late latest later
		first | last
		summer | winter
		morning mornings | evening evenings afternoon
		day days daytime | night nights
		weekday weekdays workday | weekend weekends
		easy easier easily | hard harder difficult
		simple simpler | complex complicated
		cheap cheaper affordable | expensive costly dear pricey
		fast faster quick quicker quickly | slow slower slowly
		safe safer | dangerous risky
		full crowded busy | empty
		large larger big bigger | small smaller
		strong stronger | weak weaker
		good better best well | bad worse worst badly poor poorly
		long longer | short shorter
		like love prefer enjoy | dislike hate
		new newer newest | old older oldest
		young younger | old older
		enough plenty ample | little scarce short
		increase increases increased grow grows | decrease decreases decreased shrink shrinks
		increase raise raises | reduce reduces cut cuts
		rise rises rising | fall falls falling drop drops sink sinks
		buy buys purchase | sell sells
		allow allows permit permits | forbid forbids ban bans prohibit prohibits
		support supports | oppose opposes
		accept accepts agree | refuse refuses reject rejects decline
		open opens opened | close closes closed shut
		inside indoors | outside outdoors
		above over | below under beneath
		up | down
		remember remembers | forget forgets
		save saves saved | waste wastes wasted spend spends cost costs
		gain gains win wins | lose loses lost
		add adds added | remove removes cut cuts
		alone separately individually | together jointly
		online | offline
		least minimum | most maximum
		arrive arrives reach enter | leave leaves depart exit
		start starts begin begins | stop stops end ends finish
		push | pull
		rich | poor
		hot warm | cold
		dry | wet
		light | heavy dark
		wide | narrow
		near close | far
		public | private
		free | paid
		same | different
		true right | false wrong
		everybody everyone | somebody someone
		useful | useless
		careful | careless
		harmful | harmless
		help helps | hinder hinders hurt hurts
		ready willing eager | unwilling reluctant
		notice notices | miss misses overlook
		adults | children
		men | women
		left | right`,
}

var german = language{
	grammar: `der die das den dem des ein eine einen einem einer eines und oder aber wenn
		dass ob ist sind war waren sein wird werden würde würden kann können haben hat hatte
		sie er es wir ihr ihre mit von zu zum zur im in am an auf bei für aus um als wie so
		sehr sich auch nur noch schon man ins beim vom`,
	denials: `nicht nichts kein keine keinen keinem keiner keines nie niemals niemand ohne
		kaum weder`,
	opposites: `
		hoch hohe hoher hohen höher | niedrig niedrige niedrigen niedriger tief tiefer gering
		mehr | weniger
		viel viele vielen meisten meist | wenig wenige wenigen
		alle jeder jede | einige manche
		immer oft öfter häufig meistens | selten manchmal
		vor vorher bevor vorab | nach nachher nachdem danach
		früh früher | spät später
		erste ersten zuerst | letzte letzten zuletzt
		sommer | winter
		morgens morgen | abends abend
		tag tags tagsüber | nacht nachts
		werktags wochentags | wochenende wochenends
		leicht einfach | schwer schwierig kompliziert
		billig günstig | teuer
		schnell | langsam
		sicher | gefährlich
		voll | leer
		groß große großen | klein kleine kleinen
		stark | schwach
		gut gute besser | schlecht schlechte schlechter
		lang lange länger | kurz kurze kürzer
		neu neue neuen | alt alte alten
		steigt steigen wächst | sinkt sinken fällt
		kaufen kauft | verkaufen verkauft
		erlauben erlaubt | verbieten verboten verbietet
		öffnet offen geöffnet | schließt geschlossen zu
		innen drinnen | außen draußen
		über oberhalb | unter unterhalb
		allein | zusammen gemeinsam
		mindestens | höchstens
		genug genügend | wenig`,
}

var french = language{
	concord: true,
	grammar: `le la les l un une des de du d et ou mais si que qu qui est sont était être
		sera serait a ont avoir avait il elle ils elles on nous vous leur leurs son sa ses ce
		cette ces en dans sur au aux à avec pour par se s ne n y très trop aussi reste`,
	denials: `ne n pas jamais rien aucun aucune personne sans ni`,
	opposites: `
		élevé élevée haut haute hauts | bas basse faible
		plus davantage | moins
		beaucoup plupart | peu
		tous toutes chaque | quelques certains
		toujours souvent | rarement parfois
		avant | après
		tôt | tard
		premier première | dernier dernière
		été | hiver
		matin | soir
		jour | nuit
		facile simple | difficile compliqué
		cher chère | économique
		rapide vite | lent lentement
		sûr sûre | dangereux dangereuse
		plein pleine complet | vide
		grand grande | petit petite
		fort forte | faible
		bon bonne mieux bien meilleur | mauvais mauvaise pire mal
		long longue | court courte
		nouveau nouvelle neuf | vieux vieille ancien
		augmente augmenter | diminue diminuer baisse
		acheter achètent | vendre vendent
		ouvre ouvert | ferme fermé
		intérieur dedans | extérieur dehors
		seul seuls | ensemble
		assez | peu`,
}

var spanish = language{
	concord: true,
	grammar: `el la los las un una unos unas de del y o pero si que quien es son era ser
		está están será sería ha han haber hay su sus se lo le les en a al con por para como
		muy más demasiado también este esta`,
	denials: `no nunca jamás nada nadie ningún ninguna ninguno sin tampoco`,
	opposites: `
		alto alta altos elevado | bajo baja bajos
		más | menos
		mucho muchos muchas mayoría | poco pocos pocas
		todos todas cada | algunos algunas
		siempre | raramente
		antes | después
		temprano pronto | tarde
		primero primera primer | último última
		verano | invierno
		día | noche
		fácil sencillo | difícil complicado
		barato barata | caro cara
		rápido rápida | lento lenta
		seguro segura | peligroso peligrosa
		lleno llena | vacío vacía
		grande | pequeño pequeña
		fuerte | débil
		bueno buena bien mejor | malo mala mal peor
		largo larga | corto corta
		nuevo nueva | viejo vieja antiguo
		sube subir aumenta | baja bajar disminuye
		comprar compran | vender venden
		abre abierto | cierra cerrado
		dentro | fuera
		solo solos | juntos
		suficiente bastante | poco`,
}

var portuguese = language{
	concord: true,
	grammar: `o a os as um uma uns umas de do da dos das e ou mas se que quem é são era ser
		está estão será seria há no na nos nas em ao aos à com por para como muito também
		seu sua seus suas lhe este esta`,
	denials: `não nunca jamais nada ninguém nenhum nenhuma sem tampouco`,
	opposites: `
		alto alta altos elevado | baixo baixa baixos
		mais | menos
		muitos muitas maioria | pouco poucos poucas
		todos todas cada | alguns algumas
		sempre frequentemente | raramente
		antes | depois após
		cedo | tarde
		primeiro primeira | último última
		verão | inverno
		manhã | noite
		dia | noite
		fácil simples | difícil complicado
		barato barata | caro cara
		rápido rápida | lento lenta
		seguro segura | perigoso perigosa
		cheio cheia | vazio vazia
		grande | pequeno pequena
		forte | fraco fraca
		bom boa bem melhor | mau má mal pior
		longo longa | curto curta
		novo nova | velho velha antigo
		sobe subir aumenta | desce baixar diminui
		comprar compram | vender vendem
		abre aberto | fecha fechado
		dentro | fora
		suficiente bastante | pouco`,
}

var italian = language{
	concord: true,
	grammar: `il lo la i gli le l un uno una di del della dei delle e o ma se che chi è sono
		era essere sarà sarebbe ha hanno c si in nel nella a al alla con per da dal su sul sulla
		molto troppo anche loro suo sua`,
	denials: `non mai niente nulla nessuno nessuna senza né`,
	opposites: `
		alto alta | basso bassa
		più | meno
		molti molte maggioranza | pochi poche
		sempre spesso | raramente
		prima | dopo
		presto | tardi
		primo | ultimo ultima
		estate | inverno
		giorno | notte
		facile semplice | difficile complicato
		economico | caro cara
		veloce rapido | lento lenta
		pieno piena | vuoto vuota
		grande | piccolo piccola
		buono buona bene meglio | cattivo male peggio
		nuovo nuova | vecchio vecchia`,
}

var dutch = language{
	grammar: `de het een en of maar als dat die is zijn was waren wordt worden zal zullen
		zou zouden kan kunnen heeft hebben ze zij hij we wij hun van voor met op in aan bij
		te er om naar door uit ook nog heel zeer`,
	denials: `niet niets geen nooit niemand zonder nauwelijks`,
	opposites: `
		hoog hoge hoger | laag lage lager
		meer | minder
		veel meeste | weinig
		altijd vaak | zelden soms
		voor voordat vooraf | na nadat achteraf
		vroeg vroeger | laat later
		eerste | laatste
		zomer | winter
		dag | nacht
		makkelijk eenvoudig | moeilijk ingewikkeld
		goedkoop | duur
		snel | langzaam
		vol | leeg
		groot grote | klein kleine
		goed beter | slecht slechter
		nieuw nieuwe | oud oude`,
}

// otherDenials are denials in languages that are told from the ones above by
// their letters, or that share no word with them.
const otherDenials = `не нет нельзя никогда никто ничего без ни ані немає
	δεν δε μη μην χωρις ποτε κανεις
	لا لم لن ليس ليست بدون غير
	לא אין בלי
	नहीं नही मत बिना
	nie bez nikt nigdy inte aldrig ingen inga utan ikke aldri ingen uten değil yok
	안`

// otherOpposites are opposites in those languages.
const otherOpposites = `
	высокая высокий высокое высокие | низкая низкий низкое низкие
	больше более | меньше менее
	много | мало
	до перед | после
	рано раньше | поздно позже
	летом лето | зимой зима
	дорого дорогой | дешево дешевый
	легко | трудно сложно
	быстро | медленно
	всегда часто | редко
	υψηλη ακριβο ψηλα | χαμηλη φθηνο χαμηλα
	περισσοτερο περισσοτεροι | λιγοτερο λιγοτεροι
	πριν | μετα
	قبل | بعد
	اكثر | اقل
	पहले | बाद
	ज्यादा अधिक | कम
	wysoka wysoki | niska niski
	więcej | mniej
	przed | po`

// innerDenials and innerOpposites are looked for inside stretches of letters,
// in scripts without spaces and in Korean, longest first.
const (
	innerDenials = `不 没 沒 無 无 尚未 ない ません なく なかった ずに ไม่ 않 없 못 아니`

	innerOpposites = `
		高 | 低
		多い 多 | 少ない 少
		前 | 后 後
		早い 早 | 遅い 晚 晩 遅
		大 | 小
		快 速 | 慢
		贵 貴 | 便宜
		难 難しい 難 | 容易 簡単
		新 | 旧 舊
		冬 | 夏
		安い | 高い
		많 | 적
		높 | 낮
		크다 큰 | 작다 작은
		빠르 | 느리
		เพิ่ม | ลด
		สูง | ต่ำ
		มาก | น้อย
		ก่อน | หลัง`
)
