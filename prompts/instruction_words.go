package prompts

// All lists here are from memory, and none is complete: what they miss, the
// lead still sees first.

// addresses are words to a reader.
var addresses = phrases(`
en: you, your, yours, yourself, yourselves, please, hello, hey, dear team, dear all, dear colleagues, dear reader, let s, i m, i am, i ve, i ll, i will, i have
de: bitte, dein, deine, deinen, deinem, deiner, deines, ?du, ?dich, ?dir, ?euch, ?euer, ?eure, ?euren, hallo
fr: ?vous, il est demandé, votre, veuillez, ?vos, ?tu, ?toi, ?tes, s il te plaît, s il vous plaît, merci de, prière de, bonjour
es: usted, ustedes, ?tú, ?tu, ?tus, ?te, ?ti, ?vosotros, ?vuestro, ?vuestra, ?vuestros, ?vuestras, por favor, se ruega, se les pide, ?hola
pt: você, vocês, ?tu, ?teu, ?tua, ?teus, ?tuas, ?vosso, ?vossa, por favor, pede se, ?olá
it: ?tu, ?tuo, ?tua, ?tuoi, ?tue, ?voi, ?vostro, ?vostra, per favore, si prega, ?ciao, ?ti
nl: ?je, ?jij, jouw, jullie, ?u, ?uw, alstublieft, alsjeblieft, gelieve, graag
sv: ?du, ?dig, ?din, ?ditt, ?dina, ?ni, snälla, vänligen, ?hej
da: ?du, ?dig, ?din, ?dit, ?dine, venligst, ?hej
fi: ?sinä, ?sinun, ?teidän, ?ole hyvä
pl: proszę, prosimy, ?twój, ?twoje, ?twoją, ?twoim, ?ciebie, ?wasz, ?wasze, ?ty
cs: prosím, ?tvůj, ?tvoje, ?váš, ?vaše, ?vás
ro: vă rog, ?dumneavoastră, ?tău, ?voastră
tr: lütfen, ?sen, ?senin, ?siz, ?sizin, ?sana, ?size
id: ?anda, ?kamu, silakan, ?mohon, ?tolong
vi: vui lòng, ?các bạn, ?hãy, ?của bạn
sw: tafadhali, ?wewe, ?yako, ?wako
ru: пожалуйста, просьба, просим, ?вы, ?вам, ?вас, ?ваш, ?ваша, ?ваше, ?ваши, ?ты, ?тебе, ?тебя, ?твой, ?твою, ?твои, здравствуйте, привет
uk: будь ласка, просимо, прохання, ?ви, ?вам, ?вас, ?ваш, ?ваша, ?ваше, ?ваші, ?ти, ?тобі, ?твій, ?твою, привіт
ar: من فضلك, من فضلكم, يرجى, الرجاء, رجاء, أيها, على الجميع, أنت, أنتم, عليك, عليكم, مرحبا
fa: لطفا, شما, ?تو
he: אנא, בבקשה, אתה, אתם, שלך, שלכם, נא
hi: कृपया, आप, आपका, आपकी, आपके, आपको, तुम, तुम्हारा
zh: ~大家都, ~投赞成, ~投贊成, ~各位, ~你, ~您, ~請你, ~请点, ~請點, ~请回, ~请立, ~请忽, ~请在, ~请把, ~请将, ~请不, ~请大, ~请所, ~请投, ~请给, ~请联, ~請回, ~請立, ~請忽, ~請在, ~請把, ~請將, ~請不, ~請投
ja: ~皆さん, ~みなさん, ~皆様, ~ください, ~下さい, ~あなた, ~しなさい, ~せよ, ~払え, ~送れ, ~押せ, ~お願いします
ko: ~여러분, ~하세요, ~으세요, ~바랍니다, ~십시오, ~주세요, ~당신, ~하라
th: ~กรุณา, ~โปรด, ~คุณ
`)

// commands are how a sentence starts that tells somebody to do something.
var commands = phrases(`
en: sure, certainly, okay, contact, refer to, ignore, disregard, forget, override, bypass, click, tap, press, send, reply, respond, answer the, answer this, answer with, forward, vote, approve, reject, confirm, visit, download, install, execute, subscribe, follow, tell, ask, write, say, print, repeat, output, translate, delete, remove, stop the, stop this, stop all, stop here, do not, don t, remember to, remember that, note that, attention, warning, urgent, important, open the, open this, open your, call the, call this, call us, call now, text the, text this, email the, email this, message the, run the, run this, enter the, enter your, copy the, copy this, paste, transfer the, transfer all, transfer money, pay the, pay now, pay this, join us, join the, check the, check this, see the, go to, come to, sign up, sign in, log in, log out, share the, share this, post the, post this, rate this, rate all, rate every, choose the, choose this, pick the, pick this, tick, select, take the, reveal, verify, update the, update your, submit, upload, invite, act now, buy now, fire, dismiss, praise, thank, trust me, believe, assume, pretend, act as, begin, start with, system, assistant, breaking, announcement, notice to, reminder, congratulations
de: ?ignoriert, ?ignoriere, ?ignorieren sie, ?vergiss, ?vergesst, ?klickt, ?klicke, ?klick, ?klicken sie, ?sendet, ?sende, ?senden sie, ?schickt, ?schicke, ?schicken sie, ?antwortet, ?antworte, ?antworten sie, ?stimmt für, ?stimme für, ?stimmen sie, ?ladet, ?lade, ?öffnet, ?öffne, ?öffnen sie, ?gib, ?geben sie, ?schreib, ?schreibe, ?schreibt, ?schreiben sie, ?meldet, ?melde, ?melden sie, ?besucht, ?besuche, ?besuchen sie, ?ruft, ?rufen sie, ?kauft, ?kaufen sie, ?lösche, ?löscht, ?löschen sie, ?bestätige, ?bestätigt, ?bestätigen sie, ?überweist, ?überweisen sie, ?wählt, ?wählen sie, ?bewertet, ?bewerten sie, achtung, wichtig, dringend
fr: ?ignorez, ?ignore, ?oubliez, ?oublie, ?cliquez, ?clique, ?envoyez, ?envoie, ?répondez, ?réponds, ?votez, ?vote, ?téléchargez, ?ouvrez, ?donnez, ?écrivez, ?écris, ?visitez, ?appelez, ?achetez, ?supprimez, ?confirmez, ?virez, ?choisissez, ?notez, ?dites, ?faites, attention, important, ?urgent
es: ?ignora, ?ignore, ?ignoren, ?olvida, ?olvide, ?olviden, ?haz, ?haga, ?hagan, ?pulsa, ?pulse, ?envía, ?envíe, ?envíen, ?responde, ?responda, ?respondan, ?vota, ?vote, ?voten, ?descarga, ?descargue, ?abre, ?abra, ?abran, ?escribe, ?escriba, ?escriban, ?visita, ?visite, ?visiten, ?llama, ?llame, ?llamen, ?compra, ?compre, ?compren, ?borra, ?borre, ?confirma, ?confirme, ?confirmen, ?transfiere, ?elige, ?elijan, ?di, ?diga, ?atención, ?importante, ?urgente
pt: ?ignore, ?ignorem, ?esqueça, ?esqueçam, ?clique, ?cliquem, ?envie, ?enviem, ?responda, ?respondam, ?vote, ?votem, ?baixe, ?baixem, ?abra, ?abram, ?escreva, ?escrevam, ?visite, ?visitem, ?ligue, ?liguem, ?compre, ?comprem, ?apague, ?confirme, ?confirmem, ?transfira, ?transfiram, ?escolha, ?escolham, ?diga, ?atenção, ?importante, ?urgente
it: ?ignora, ?ignorate, ?ignori, ?dimentica, ?dimenticate, ?clicca, ?cliccate, ?clicchi, ?invia, ?inviate, ?invii, ?rispondi, ?rispondete, ?vota, ?votate, ?scarica, ?scaricate, ?apri, ?aprite, ?scrivi, ?scrivete, ?visita, ?visitate, ?chiama, ?chiamate, ?compra, ?comprate, ?conferma, ?confermate, ?cancella, ?cancellate, ?scegli, ?scegliete, ?attenzione, ?importante, ?urgente
nl: ?negeer, ?vergeet, ?klik, ?stuur, ?antwoord, ?stem, ?download, ?open, ?schrijf, ?bezoek, ?bel, ?koop, ?verwijder, ?bevestig, ?kies, ?let op, ?belangrijk
sv: ?ignorera, ?glöm, ?klicka, ?skicka, ?svara, ?rösta, ?öppna, ?skriv, ?besök, ?ring, ?köp, ?radera, ?bekräfta, ?välj, ?viktigt
da: ?ignorer, ?glem, ?klik, ?send, ?svar, ?stem, ?åbn, ?skriv, ?besøg, ?ring, ?køb, ?slet, ?bekræft, ?vælg, ?vigtigt
fi: ?unohda, ?klikkaa, ?lähetä, ?vastaa, ?äänestä, ?avaa, ?kirjoita, ?osta, ?poista, ?vahvista, ?valitse
pl: ?zignoruj, ?zignorujcie, ?ignoruj, ?zapomnij, ?kliknij, ?kliknijcie, ?wyślij, ?wyślijcie, ?odpowiedz, ?odpowiedzcie, ?zagłosuj, ?głosuj, ?głosujcie, ?pobierz, ?otwórz, ?napisz, ?napiszcie, ?odwiedź, ?zadzwoń, ?zadzwońcie, ?kup, ?usuń, ?potwierdź, ?wybierz, ?podaj, ?podajcie, ?przelej, ?uwaga, ?ważne
cs: ?ignoruj, ?ignorujte, ?klikni, ?klikněte, ?pošli, ?pošlete, ?odpověz, ?odpovězte, ?hlasuj, ?hlasujte, ?napiš, ?napište, ?pozor
ro: ?ignoră, ?ignorați, ?apasă, ?apăsați, ?trimite, ?trimiteți, ?răspunde, ?răspundeți, ?votează, ?votați, ?scrie, ?atenție
tr: tıkla, tıklayın, ?gönder, ?gönderin, ?oy ver, ?oy verin, ?dikkat
id: ?abaikan, ?klik, ?kirim, ?kirimkan, ?balas, ?pilih, ?tulis, ?kunjungi, ?hubungi, ?perhatian
vi: ?bỏ qua, ?nhấp, ?gửi, ?trả lời, ?bình chọn, ?viết, ?gọi, ?chú ý
sw: ?puuza, ?bofya, ?tuma, ?jibu, ?piga kura, ?andika
ru: игнорируй, игнорируйте, забудь, забудьте, нажми, нажмите, отправь, отправьте, пришли, пришлите, ответь, ответьте, голосуй, голосуйте, проголосуйте, скачай, скачайте, открой, откройте, напиши, напишите, перейди, перейдите, позвони, позвоните, купи, купите, удали, удалите, подтверди, подтвердите, переведи, переведите, выбери, выберите, сообщи, сообщите, внимание, срочно, важно
uk: ігноруй, ігноруйте, забудь, забудьте, натисни, натисніть, надішли, надішліть, відповідай, відповідайте, голосуй, голосуйте, проголосуйте, завантаж, завантажте, відкрий, відкрийте, напиши, напишіть, перейди, перейдіть, зателефонуй, зателефонуйте, купи, купіть, видали, видаліть, підтверди, підтвердьте, обери, оберіть, повідом, повідомте, увага, терміново
ar: تجاهل, تجاهلوا, انقر, انقروا, اضغط, اضغطوا, أرسل, أرسلوا, أجب, أجيبوا, صوت, صوتوا, اكتب, اكتبوا, افتح, افتحوا, اتصل, اتصلوا, احذف, احذفوا, أكد, حول, اختر, انتباه, تنبيه, عاجل
fa: نادیده بگیر, نادیده بگیرید, کلیک کن, کلیک کنید, ارسال کن, ارسال کنید, توجه
he: התעלם, התעלמו, לחץ, לחצו, שלח, שלחו, ענה, ענו, הצבע, הצביעו, כתוב, כתבו, פתח, פתחו, התקשר, התקשרו, מחק, מחקו, אשר, אשרו, העבר, העבירו, בחר, בחרו, שימו לב, דחוף
hi: अनदेखा, ध्यान दें, क्लिक, भेजें, भेजो, जवाब दें, लिखें, लिखो
zh: ~忽略, ~无视, ~無視, ~点击, ~點擊, ~立即, ~马上, ~发送, ~發送, ~回复, ~回覆, ~投票给, ~投票給, ~下载, ~下載, ~打开, ~打開, ~联系, ~聯繫, ~转账, ~轉帳, ~删除, ~刪除, ~告诉, ~注意, ~紧急, ~不要
ja: ~注意, ~緊急, ~重要, ~これまでの指示, ~以前の指示
ko: ~주의, ~긴급, ~이전 지시, ~모든 지시
`)

// betrays are words of somebody who talks to a model, of a model that talks
// of itself, and of those who are after money or secrets.
var betrays = phrases(`
en: click here, click on, click the, click this, tap here, tap the link, follow the link, follow this link, act now, buy now, call now, system prompt, system message, developer mode, language model, as an ai, i m sorry, i am sorry, i cannot, i can t, i can not, i won t, previous instructions, prior instructions, above instructions, earlier instructions, instructions above, my instructions, new instructions, hidden instructions, prompt injection, jailbreak, gift card, gift cards, bitcoin, cryptocurrency, wire transfer, password is, passcode is, password was, password has been, password to, find more at, send money, tool call, function call, im start, im end, endoftext, as instructed, as requested, as you asked, here is the, here are the, the assistant, the model, learn more at, read more at, find out more, for more information, it is recommended, are requested to, are urged to, is requested to, this wording, these wordings, the wordings, this draft, these drafts, the prompt, is an instruction, no instruction, this bot, the bot
de: klicken sie, hier klicken, systemprompt, sprachmodell, als ki, es tut mir leid, tut mir leid, ich kann, ich darf, vorherige anweisungen, vorherigen anweisungen, bisherigen anweisungen, alle anweisungen, gutscheinkarte, das passwort lautet, passwort an
fr: cliquez ici, cliquez sur, modèle de langage, en tant qu ia, je suis désolé, désolé, je ne peux pas, instructions précédentes, toutes les instructions, carte cadeau, mot de passe est, mot de passe à
es: haz clic, haga clic, hagan clic, modelo de lenguaje, como ia, lo siento, no puedo, instrucciones anteriores, todas las instrucciones, tarjeta de regalo, la contraseña es, contraseña a
pt: clique aqui, clique no, modelo de linguagem, como ia, desculpe, não posso, instruções anteriores, todas as instruções, a senha é, senha para
it: clicca qui, cliccate qui, modello linguistico, come ia, mi dispiace, non posso, istruzioni precedenti, tutte le istruzioni, la password è, password a
nl: klik hier, taalmodel, als ai, het spijt me, ik kan, vorige instructies, eerdere instructies, alle instructies, het wachtwoord is
sv: klicka här, språkmodell, tyvärr kan jag, tidigare instruktioner, lösenordet är
pl: kliknij tutaj, model językowy, przykro mi, nie mogę, poprzednie instrukcje, poprzednich instrukcji, wszystkie instrukcje, hasło to
tr: buraya tıkla, buraya tıklayın, dil modeli, üzgünüm, önceki talimatlar, önceki talimatları, tüm talimatları, şifre, şifresini, şifrenizi
ru: нажмите здесь, языковая модель, языковой модели, как ии, извините, не могу, предыдущие инструкции, предыдущих инструкций, все инструкции, пароль от, системный промпт, системную подсказку
uk: натисніть тут, мовна модель, вибачте, не можу, попередні інструкції, попередніх інструкцій, усі інструкції, всі інструкції, пароль від
ar: نموذج لغوي, آسف, لا أستطيع, التعليمات السابقة, جميع التعليمات, كل التعليمات, انقر هنا, كلمة المرور, كلمة السر
fa: مدل زبانی, متاسفم, دستورهای قبلی, رمز عبور
he: מודל שפה, מצטער, איני יכול, ההוראות הקודמות, כל ההוראות, לחצו כאן, הסיסמה
hi: भाषा मॉडल, माफ़ करें, मैं नहीं, पिछले निर्देश, सभी निर्देश, यहाँ क्लिक, पासवर्ड
zh: ~语言模型, ~語言模型, ~抱歉, ~对不起, ~我不能, ~我无法, ~之前的指令, ~以上指令, ~所有指令, ~先前的指示, ~点击这里, ~系统提示, ~系統提示, ~密码是, ~礼品卡
ja: ~言語モデル, ~申し訳, ~以前の指示, ~これまでの指示, ~すべての指示, ~システムプロンプト, ~クリック, ~パスワード
ko: ~언어 모델, ~죄송, ~이전 지시, ~모든 지시, ~시스템 프롬프트, ~클릭, ~비밀번호
vi: mô hình ngôn ngữ, xin lỗi, hướng dẫn trước, mật khẩu
id: model bahasa, instruksi sebelumnya, semua instruksi, kata sandi, klik di sini
sw: maagizo yaliyotangulia, maagizo yote, nenosiri, bofya hapa
`)

// sides are words that weigh.
var sides = phrases(`
en: obviously, clearly, of course, rightly, wrongly, is right, are right, is wrong, are wrong, is mistaken, are mistaken, correctly, majority, minority, most people, most of the team, few people, everyone agrees, more convincing, better reason, better argument, foolish, stupid, nonsense, ridiculous
de: offensichtlich, natürlich, zu recht, zu unrecht, mehrheit, minderheit, die meisten, überzeugender, unsinn, dumm
fr: évidemment, bien sûr, à juste titre, à tort, majorité, minorité, la plupart, plus convaincant, absurde
es: obviamente, claramente, por supuesto, con razón, sin razón, mayoría, minoría, más convincente, absurdo
pt: obviamente, claramente, com razão, sem razão, maioria, minoria, mais convincente, absurdo
it: ovviamente, chiaramente, a ragione, a torto, maggioranza, minoranza, più convincente, assurdo
nl: uiteraard, natuurlijk, terecht, onterecht, meerderheid, minderheid, de meesten, overtuigender, onzin
`)

// duties and deeds are, together, an order in the third person.
var (
	duties = phrases(`
en: must, should, shall, ought to, have to, has to, need to, needs to, required to, obliged to, asked to, requested to, told to, urged to, advised to
de: müssen, muss, sollen, soll, sollten, sollte, aufgefordert, gebeten, verpflichtet
fr: doivent, doit, devraient, devrait, demandé, priés, tenus, faut
es: deben, debe, deberían, debería, tienen que, tiene que, hay que, se pide
pt: devem, deve, deveriam, deveria, têm de, têm que, tem de, tem que
it: devono, deve, dovrebbero, dovrebbe, bisogna, si chiede
nl: moeten, moet, verzocht
sv: måste, ?ska, ?skall, bör, borde
da: ?skal, bør, burde
fi: pitää, täytyy
pl: muszą, musi, powinni, powinny, powinien, powinna, trzeba, należy
cs: musí, ?mají, měli by
ro: trebuie
tr: ~melidir, ~malıdır, ~meliyiz, ~malıyız, zorunda, gerekiyor, gerekir
id: harus, wajib, diminta
vi: phải, cần, nên
sw: lazima, wanapaswa, inabidi
ru: должны, должен, должна, обязаны, обязан, надо, нужно, следует, необходимо
uk: повинні, повинен, мають, мусять, треба, потрібно, слід
ar: يجب, ينبغي, على كل, على جميع, على الجميع, لا بد
fa: باید
he: חייבים, חייב, צריכים, צריך
hi: चाहिए, होगा, पड़ेगा
zh: ~必须, ~必須, ~应该, ~應該, ~应当, ~應當, ~需要
ja: ~べき, ~なければ, ~必要
ko: ~해야, ~내야, ~어야, ~아야
`)
	deeds = phrases(`
en: vote, click, the link, password, passcode, bank details, credit card, card number, send money, transfer money, give money, gift card, resign, fire the, sack the, dismiss the
de: abstimmen, klicken, ~passwort, ~kennwort, geld überweisen, geld schicken, bankdaten, kreditkarte, auf den link, zurücktreten
fr: voter, cliquer, le lien, mot de passe, de l argent, carte bancaire, démissionner
es: votar, hacer clic, clicar, el enlace, contraseña, enviar dinero, tarjeta, dimitir
pt: votar, clicar, o link, a senha, sua senha, palavra passe, enviar dinheiro
it: votare, cliccare, il link, sul link, password, denaro, carta di credito, dimettersi
nl: ?stemmen, klikken, de link, wachtwoord, geld overmaken, geld sturen
sv: rösta, klicka, länken, lösenord, skicka pengar
da: ?stemme, klikke, linket, adgangskode, sende penge
fi: äänestää, klikata, salasana
pl: głosować, zagłosować, kliknąć, hasło, hasła, pieniądze
cs: hlasovat, kliknout, heslo, peníze
ro: voteze, apese, parola, bani
tr: ~oy ver, ~tıkla, ~bağlantı, ~şifre, ~parola, ~para gönder
id: memilih, mengklik, tautan, kata sandi, mengirim uang
vi: bỏ phiếu, nhấp, liên kết, mật khẩu, gửi tiền, chuyển tiền
sw: kupiga kura, kubofya, nenosiri, pesa
ru: голосовать, проголосовать, нажать, кликнуть, ссылку, ссылке, ~парол, деньги
uk: голосувати, проголосувати, натиснути, посилання, ~парол, гроші
ar: التصويت, النقر, الضغط, الرابط, كلمة المرور, المال, أموال
fa: رای, کلیک, رمز, پول
he: להצביע, ללחוץ, קישור, סיסמה, כסף
hi: वोट, क्लिक, लिंक, पासवर्ड, पैसे
zh: ~投票, ~点击, ~點擊, ~链接, ~連結, ~密码, ~密碼, ~转账, ~轉帳, ~把钱, ~把錢, ~汇款, ~匯款
ja: ~投票, ~クリック, ~リンク, ~パスワード, ~送金, ~金を
ko: ~투표, ~클릭, ~링크, ~비밀번호, ~돈을, ~송금
`)
)
