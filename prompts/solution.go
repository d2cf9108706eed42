package prompts

import (
	"regexp"
	"slices"
	"strings"
)

// isSolution tells whether a text reads like something to make: it starts
// with a command to make it, says that it should be made or is missing, or
// names a technology that nobody named. From memory, as are all lists here.
func isSolution(text string, sent []string) bool {
	return makes.starts(text) || slices.ContainsFunc(shouldMake, func(r *regexp.Regexp) bool {
		return r.MatchString(strings.TrimSpace(spaced(text)))
	}) || technologies.foreignTo(text, sent) || missesTechnology(text)
}

// lacking are the words before a technology that make a wish of it, also where
// the original names it.
var lacking = phrases(`
en: no, have no, lack, lacks, lack a, lack an, lacks a, lacks an, lack of a, lack of an, need a, need an, needs a, needs an, want a, want an, missing, there is no
de: keine, kein, brauchen eine, brauchen ein, braucht eine, braucht ein, fehlt eine, fehlt ein
fr: pas d, pas de, manque une, besoin d une, besoin d un
es: no hay, no tienen, falta una, falta un, necesitan una, necesitan un
pt: não há, falta uma, falta um, precisam de uma, precisam de um
it: non c è una, non c è un, manca una, manca un, serve una, serve un
nl: geen, hebben een, ontbreekt een
`)

func missesTechnology(text string) bool {
	words, before := spaced(text), lacking.of(text)
	return slices.ContainsFunc(technologies.of(text), func(thing string) bool {
		at := strings.Index(words, thing)
		return at >= 0 && slices.ContainsFunc(before, func(l string) bool { return strings.HasSuffix(words[:at+1], l) })
	})
}

// makes are how a sentence starts that says what to make.
var makes = phrases(`
en: add, create, build a, build an, build the, build our, build new, build up, introduce, develop, implement, provide, install, launch, design a, design an, design the, offer a, offer an, offer the, offer all, offer people, make it, make the, make sure, make a, give, let, allow, enable, ensure, improve, redesign, digitise, digitize, automate, set up, put up, hire, buy a, buy the, buy more, extend, replace, publish, show the, show passengers, display, notify, alert, inform, remind, help the, help people, use a, use an, use the, train the, train all, we should, we could, we need to, how might we
de: ?baut, ?bauen wir, ?bauen sie, ?füge, ?fügen sie, ?fügt, ?entwickelt, ?entwickeln, ?entwickle, ?erstellt, ?erstellen, ?erstelle, ?führen wir, ?führt, ?schafft, ?schaffen wir, ?schaffen sie, ?installieren, ?installiert, ?bietet, ?bieten wir, ?bieten sie, ?gebt, ?zeigt, ?stellt, ?stellen wir, wir sollten, wir brauchen, man sollte
fr: ?créer, ?créez, ?créons, ?ajouter, ?ajoutez, ?ajoutons, ?construire, ?construisons, ?développer, ?développez, ?développons, ?mettre en place, ?mettons, ?installer, ?installez, ?installons, ?proposer, ?proposez, ?offrir, ?offrez, ?lancer, ?lançons, ?concevoir, ?permettre, ?donner, ?afficher, il faut, il faudrait, nous devons, nous devrions
es: ?crear, ?crea, ?creemos, ?añadir, ?añade, ?añadamos, ?agregar, ?agrega, ?construir, ?construye, ?construyamos, ?desarrollar, ?desarrolla, ?desarrollemos, ?instalar, ?instala, ?implementar, ?ofrecer, ?ofrece, ?lanzar, ?lancemos, ?diseñar, ?permitir, ?poner, ?mostrar, ?dar a, debemos, deberíamos, hay que, tenemos que
pt: ?criar, ?crie, ?vamos criar, ?adicionar, ?adicione, ?construir, ?construa, ?desenvolver, ?desenvolva, ?instalar, ?instale, ?implementar, ?oferecer, ?ofereça, ?lançar, ?permitir, ?mostrar, ?dar aos, devemos, deveríamos, temos de, temos que
it: ?creare, ?crea, ?creiamo, ?aggiungere, ?aggiungi, ?aggiungiamo, ?costruire, ?costruiamo, ?sviluppare, ?sviluppiamo, ?installare, ?installiamo, ?offrire, ?offriamo, ?lanciare, ?progettare, ?permettere, ?mostrare, ?introdurre, dobbiamo, dovremmo, bisogna
nl: ?bouw, ?maak, ?voeg, ?ontwikkel, ?installeer, ?bied, ?geef, ?zet, ?lanceer, ?ontwerp, ?toon, we moeten, wij moeten, we zouden
sv: ?bygg, ?skapa, ?lägg, ?utveckla, ?inför, ?erbjud, vi bör, vi borde
da: ?byg, ?lav, ?tilføj, ?udvikl, ?indfør, ?tilbyd, vi bør
pl: ?zbudować, ?zbudujmy, ?stworzyć, ?stwórzmy, ?dodać, ?dodajmy, ?wprowadzić, ?wprowadźmy, ?opracować, należy, powinniśmy, trzeba
tr: ?bir uygulama, ?yeni bir uygulama
ru: создать, создадим, построить, построим, добавить, добавим, разработать, разработаем, внедрить, запустить, сделать, нужно, надо, необходимо, следует, давайте
uk: створити, створімо, побудувати, додати, розробити, запровадити, запустити, зробити, потрібно, треба, необхідно, слід, давайте
ar: أنشئ, أنشئوا, إنشاء تطبيق, بناء تطبيق, تطوير تطبيق, أضف, أضيفوا, يجب إنشاء, يجب بناء
he: לבנות, ליצור, לפתח, להוסיף, להקים, צריך לבנות, יש לבנות
zh: ~开发一, ~創建, ~创建, ~推出一, ~建立一个, ~增加一个, ~增设, ~引入
`)

// shouldMake finds that something is to be made; it reads text as spaced
// gives it.
var shouldMake = []*regexp.Regexp{
	regexp.MustCompile(`(?:^| )(?:should|ought to|we must|we need to|we have to|we could|we will|we can|let s|team must|team will)(?: \p{L}+)?(?: be)?(?: \p{L}+)? ` +
		`(?:build|built|add|added|create|created|develop|developed|launch|launched|introduce|introduced|design|designed|install|installed|implement|implemented|deploy|deployed|buy|bought|hire|hired|integrate|redesign|offer|offered|provide|provided)(?: |$)`),
	regexp.MustCompile(`(?:^| )(?:company|operator|management|organisation|organization|board|city|council|office|they|somebody|someone|one) ` +
		`(?:must|should|needs? to|has to|have to|ought to|could|will)(?: \p{L}+)? (?:build|add|create|develop|launch|introduce|design|install|implement|deploy|buy|hire|integrate|redesign|offer|provide|invest)(?: |$)`),
	regexp.MustCompile(`(?:^| )by (?:adding|building|introducing|creating|offering|providing|installing|developing|launching|deploying|using an?|means of an?) `),
	regexp.MustCompile(`(?:^| )(?:sollten|sollen|soll|sollte|müssen|muss|könnten|werden|brauchen)(?: \p{L}+){0,8} (?:bauen|einbauen|entwickeln|hinzufügen|einführen|erstellen|anbieten|installieren|gebaut|eingeführt|entwickelt|erstellt|installiert)(?: |$)`),
	regexp.MustCompile(`(?:^| )(?:il faut|il faudrait|devons|devrions|doit|devrait|faudra)(?: \p{L}+)? (?:construire|ajouter|créer|développer|concevoir|lancer|installer|mettre en place|introduire)(?: |$)`),
	regexp.MustCompile(`(?:^| )(?:debemos|deberíamos|debe|debería|hay que|tenemos que|habría que)(?: \p{L}+)? (?:construir|añadir|agregar|crear|desarrollar|lanzar|instalar|introducir|implementar)(?: |$)`),
	regexp.MustCompile(`(?:^| )(?:devemos|deveríamos|deve|deveria|é preciso|temos que|temos de)(?: \p{L}+)? (?:construir|adicionar|criar|desenvolver|lançar|instalar|introduzir|implementar)(?: |$)`),
	regexp.MustCompile(`(?:^| )(?:dobbiamo|dovremmo|bisogna|deve|dovrebbe|occorre)(?: \p{L}+)? (?:costruire|aggiungere|creare|sviluppare|lanciare|installare|introdurre|realizzare)(?: |$)`),
	regexp.MustCompile(`(?:^| )(?:moeten|moet|zouden|zou)(?: \p{L}+){0,6} (?:bouwen|toevoegen|ontwikkelen|invoeren|installeren|lanceren)(?: |$)`),
	regexp.MustCompile(`(?:^| )(?:należy|powinniśmy|powinien|powinna|powinno|trzeba|musimy)(?: \p{L}+){0,3} (?:zbudować|dodać|stworzyć|wprowadzić|opracować|uruchomić)(?: |$)`),
	regexp.MustCompile(`(?:^| )(?:нужно|надо|следует|необходимо|должны|должна|должен|потрібно|треба|слід|необхідно|мусимо|повинні)(?: \p{L}+){0,3} (?:создать|построить|добавить|разработать|внедрить|запустить|сделать|створити|побудувати|додати|розробити|запровадити|запустити)(?: |$)`),
	regexp.MustCompile(`(?:^| )(?:\p{L}*(?:geliştir|oluştur|ekle|kur|yap)(?:meliyiz|malıyız|ilmeli|ulmalı|ılmalı|nmeli|meli|malı))(?: |$)`),
	regexp.MustCompile(`(?:^| )(?:يجب|ينبغي|علينا)(?: \p{L}+){0,3} (?:نبني|ننشئ|نطور|نضيف|نطلق|بناء|إنشاء|تطوير|إضافة|إطلاق)(?: |$)`),
	regexp.MustCompile(`(?:^| )(?:צריך|צריכים|עלינו|חייבים)(?: \p{L}+){0,2} (?:לבנות|לפתח|ליצור|להוסיף|להקים)(?: |$)`),
	regexp.MustCompile(`(?:बनाना|विकसित करना|शुरू करना|जोड़ना|लगाना) (?:चाहिए|होगा)`),
	regexp.MustCompile(`(?:应该|應該|需要|必须|必須|应|要)\p{Han}{0,6}(?:开发|開發|建立|创建|創建|推出|增加|引入|开设|安装|设计)`),
	regexp.MustCompile(`(?:導入|開発|設置|作成|用意|追加)(?:す(?:る)?べき|する必要)|作るべき`),
	regexp.MustCompile(`(?:만들|개발|도입|구축|추가|설치)\p{Hangul}{0,2}(?:야| 합니다|해야)`),
	regexp.MustCompile(`(?:^| )(?:nên|cần|phải)(?: \p{L}+){0,2} (?:xây dựng|phát triển|thêm|tạo)(?: |$)`),
	regexp.MustCompile(`(?:^| )(?:harus|perlu|sebaiknya)(?: \p{L}+){0,2} (?:membangun|membuat|menambahkan|mengembangkan)(?: |$)`),
}

// technologies are words for what could be built. A problem statement may
// name one that the original names; it may not bring one in.
var technologies = phrases(`
en: app, apps, website, websites, web site, web page, chatbot, chatbots, chat bot, bot, bots, dashboard, dashboards, web portal, online portal, portal, digital platform, online platform, software, widget, widgets, plugin, plug in, algorithm, algorithms, machine learning, artificial intelligence, ai, blockchain, qr code, qr codes, push notification, push notifications, notification, notifications, sms, text alert, text alerts, email alerts, newsletter, sensor, sensors, tracker, trackers, gps, beacon, beacons, kiosk, kiosks, touchscreen, touchscreens, web shop, online shop, online booking, booking system, reservation system, booking systems, reservation systems, ticketing system, voucher, vouchers, loyalty scheme, hotline, helpline, api, database, spreadsheet, prototype, mvp, drone, drones, robot, robots, functionality
de: ?webseite, ?webseiten, ?plattform, ?benachrichtigung, ?benachrichtigungen, ?buchungssystem, ?reservierungssystem, ?sensoren, ?anzeigetafel, ?anzeigetafeln
fr: ?application, ?applications, logiciel, ?site web, ?plateforme, ?tableau de bord, ?notification, ?capteur, ?capteurs, ?système de réservation
es: ?aplicación, ?sitio web, ?página web, ?notificación, ?notificaciones, ?panel de control, ?sistema de reservas, ?sensores, ?plataforma
pt: ?aplicativo, ?aplicação, ?notificação, ?notificações, ?sistema de reservas, ?painel, ?sensores, ?plataforma
it: ?applicazione, ?sito web, ?notifica, ?notifiche, ?sistema di prenotazione, ?sensori, ?piattaforma
nl: ?reserveringssysteem, ?boekingssysteem, ?meldingen, ?sensoren
sv: ?appen, ?bokningssystem, ?notiser
pl: aplikacja, aplikacji, aplikację, ?powiadomienia, ?powiadomień, ?system rezerwacji
tr: ?uygulama, ?uygulaması, ?bildirim
ru: приложение, приложения, приложении, приложению, чат бот, сайт, ?датчики
uk: застосунок, застосунку, чат бот, ?датчики
ar: تطبيق, تطبيقا, التطبيق, روبوت
he: אפליקציה, צ אט בוט
hi: ऐप, एप, वेबसाइट
zh: ~应用程序, ~應用程式, ~手机应用, ~小程序, ~网站, ~網站, ~传感器, ~二维码, ~机器人, ~预订系统, ~预约系统, ~預訂系統, ~订票系统
ja: ~アプリ, ~ウェブサイト, ~チャットボット, ~センサー, ~予約システム
ko: ~앱을, ~앱이, ~애플리케이션, ~웹사이트, ~챗봇, ~예약 시스템
vi: ứng dụng
id: aplikasi
sw: ?programu
`)
