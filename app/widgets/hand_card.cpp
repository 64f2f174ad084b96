#include "widgets/hand_card.h"

#include "models/hand_work.h"
#include "models/wording.h"
#include "widgets/fitting_scroll.h"
#include "widgets/look.h"

#include <QHBoxLayout>
#include <QLabel>
#include <QPushButton>
#include <QShortcut>

namespace stripwright {

/// No line ends between a temperature and its unit.
static QString unitsKept(QString text)
{
    return text.replace(QStringLiteral(" °C"), QStringLiteral("\u00A0°C"));
}

HandCardView::HandCardView(QWidget* parent) : QFrame(parent)
{
    setObjectName("handCard");
    setFocusPolicy(Qt::ClickFocus); // keys that went to a field come back
    setProperty("tone", "card");
    when_ = words({}, Type::Secondary, true);
    what_ = words({}, Type::Title);
    what_->setObjectName("handCardText");
    plate_ = words({}, Type::Base);
    otherwise_ = words({}, Type::Base, true);
    assumed_ = words({}, Type::Base);
    assumed_->setObjectName("cardAssumed");
    for (QLabel* label : {what_, plate_, otherwise_, assumed_}) {
        label->setWordWrap(true);
        label->setMinimumHeight(1); // a wrapped label else asks for the height of its narrowest shape
    }
    countdown_ = words({}, Type::LiveValue);
    countdown_->setAlignment(Qt::AlignRight);
    countdown_->setMinimumWidth(countdown_->fontMetrics().horizontalAdvance(QStringLiteral("00:00")));
    countdownMore_ = words({}, Type::Secondary, true);
    countdownMore_->setAlignment(Qt::AlignRight);
    done_ = new QPushButton;
    done_->setObjectName("cardDone");
    done_->setFocusPolicy(Qt::TabFocus);
    done_->setMinimumSize(pixelsOf(20, this), pixelsOf(10, this));
    connect(done_, &QPushButton::clicked, this, [this] { answer(); });

    solder_ = words({}, Type::Secondary, true);
    liquid_ = new QPushButton(tr("It is liquid (L)"));
    liquid_->setObjectName("solderLiquid");
    liquid_->setToolTip(tr("Press at the moment the solder turns. Key: L, or Ctrl+L while you write a note"));
    notYet_ = new QPushButton;
    notYet_->setObjectName("solderNotYet");
    notYet_->setToolTip(tr("Key: N, or Ctrl+N while you write a note"));
    const auto answers = [this](QPushButton* button, Qt::Key key, bool liquid) {
        button->setMinimumSize(pixelsOf(20, this), pixelsOf(10, this));
        button->setFocusPolicy(Qt::TabFocus);
        const auto say = [this, liquid] { emit solderSaid(solderSite_, liquid); };
        connect(button, &QPushButton::clicked, this, say);
        std::vector<QShortcut*> shortcuts;
        for (const QKeySequence& keys : {QKeySequence(key), QKeySequence(Qt::CTRL | key)}) {
            shortcuts.push_back(new QShortcut(keys, this));
            shortcuts.back()->setAutoRepeat(false);
            connect(shortcuts.back(), &QShortcut::activated, this, say);
        }
        return shortcuts;
    };
    liquidKeys_ = answers(liquid_, Qt::Key_L, true);
    notYetKeys_ = answers(notYet_, Qt::Key_N, false);

    auto* page = new QWidget;
    auto* text = new QVBoxLayout(page);
    text->setContentsMargins(0, 0, 0, 0);
    text->setSpacing(space::xs);
    for (QLabel* label : {when_, what_, plate_, otherwise_, assumed_})
        text->addWidget(label);
    text->addStretch();
    auto* time = new QVBoxLayout;
    time->setSpacing(0);
    time->addWidget(countdown_);
    time->addWidget(countdownMore_);
    time->addStretch();
    auto* said = new QHBoxLayout;
    said->setSpacing(space::xl);
    said->addWidget(new FittingScroll(page, 4 * what_->fontMetrics().lineSpacing()), 1);
    said->addLayout(time);
    // Beside each other: one above the other they make the window higher than a small screen. Each keeps its
    // place when another is not asked for: a second press where "Not yet" was must not meet "Done".
    for (QWidget* button : std::initializer_list<QWidget*>{liquid_, notYet_, done_}) {
        QSizePolicy keeps = button->sizePolicy();
        keeps.setRetainSizeWhenHidden(true);
        button->setSizePolicy(keeps);
    }
    auto* buttons = new QHBoxLayout;
    buttons->setSpacing(space::s);
    buttons->addStretch();
    for (QWidget* widget : std::initializer_list<QWidget*>{solder_, liquid_, notYet_, done_})
        buttons->addWidget(widget);
    auto* column = new QVBoxLayout(this);
    column->setContentsMargins(space::l, space::m, space::l, space::m);
    column->setSpacing(space::s);
    column->addLayout(said, 1);
    column->addLayout(buttons);
    setSizePolicy(QSizePolicy::Preferred, QSizePolicy::Maximum);
    ask({});
}

// A focused button that is hidden hands the keys on to the next field, a note perhaps, where they would be
// text.
void HandCardView::show(QPushButton* button, bool shown)
{
    if (!shown && button->hasFocus())
        setFocus();
    button->setVisible(shown);
}

void HandCardView::ask(const CardAsks& asks)
{
    const bool itself = asks.whetherDone && !asks.saidDoneS;
    asksLate_ = !itself && late_;
    done_->setText(asksLate_ ? tr("Site %1 done after all (Ctrl+Enter)").arg(siteOf(*late_))
                             : tr("Done (Ctrl+Enter)"));
    done_->setToolTip(tr("Key: Ctrl+Enter"));
    done_->setAccessibleDescription(asksLate_
                                        ? tr("Says that what was not confirmed is done. Key: Ctrl+Enter")
                                        : tr("Says that this is done. Key: Ctrl+Enter"));
    show(done_, itself || asksLate_);
    assumed_->setVisible(asks.saidDoneS.has_value());
    if (asks.saidDoneS)
        assumed_->setText(tr("Done, you said at %1.").arg(clockText(*asks.saidDoneS)));

    solderSite_ = asks.solderSite;
    const bool solder = solderSite_ > 0, liquid = solder && !asks.saidLiquid;
    solder_->setText(tr("Solder at site %1").arg(solderSite_));
    solder_->setVisible(solder);
    notYet_->setText(asks.saidLiquid ? tr("Not yet after all (N)") : tr("Not yet (N)"));
    notYet_->setAccessibleDescription(tr("The solder at site %1 is not liquid yet. Key: N").arg(solderSite_));
    liquid_->setAccessibleDescription(
        tr("The solder at site %1 has just turned liquid. Key: L").arg(solderSite_));
    show(liquid_, liquid);
    show(notYet_, solder);
    for (QShortcut* key : liquidKeys_)
        key->setEnabled(liquid);
    for (QShortcut* key : notYetKeys_)
        key->setEnabled(solder);
}

void HandCardView::showCard(const HandCard& card, double inS, double leftS, bool waits, const CardAsks& asks)
{
    card_ = card.id;
    ask(asks);
    const bool timed = card.comesByTime(), before = timed && card.atS < 0, up = inS <= 0;
    when_->show();
    when_->setText(before ? tr("Before the heat")
                   : up   ? tr("Now, with your hands")
                          : tr("Next, with your hands"));
    what_->setText(unitsKept(QString::fromStdString(card.text)));
    plate_->setText(card.plateDoes.empty() ? QString()
                                           : tr("Plate: %1").arg(QString::fromStdString(card.plateDoes)));
    otherwise_->setText(card.otherwise.empty()
                            ? QString()
                            : tr("If not done: %1").arg(QString::fromStdString(card.otherwise)));
    plate_->setVisible(!plate_->text().isEmpty());
    otherwise_->setVisible(!otherwise_->text().isEmpty());
    const bool counts = timed && !before && (!up || leftS > 0); // one whose time is over may still stand
    countdown_->setVisible(counts);
    countdownMore_->setVisible(counts);
    countdown_->setText(clockText(std::max(0.0, up ? leftS : inS)));
    countdownMore_->setText(waits ? up ? tr("left; the plan waits") : tr("to it; the plan waits")
                            : up ? tr("left")
                                  : tr("until then"));
}

void HandCardView::showLift(const HandCard& card, double leftS, const QString& assumed)
{
    showCard(card, 0, leftS, false, {.whetherDone = true});
    assumed_->setText(assumed);
    assumed_->setVisible(!assumed.isEmpty());
    done_->setText(tr("Lifted (Ctrl+Enter)"));
    done_->setAccessibleDescription(tr("Says that the strip is off the plate. Key: Ctrl+Enter"));
}

bool HandCardView::askedFor() const
{
    return (asksLate_ || !card_.empty()) && done_->isVisibleTo(this);
}

void HandCardView::answer()
{
    if (!askedFor())
        return;
    if (asksLate_) {
        answerLate();
        return;
    }
    answered_.start();
    emit done(card_);
}

// A second press on what was just done must not answer for something else.
void HandCardView::answerLate()
{
    constexpr int pressedTwiceMs = 1000;
    if (answered_.isValid() && !answered_.hasExpired(pressedTwiceMs))
        return;
    answered_.start();
    emit done(late_->id);
}

void HandCardView::sayToo(const QString& text)
{
    assumed_->setText(assumed_->isVisibleTo(this) ? assumed_->text() + '\n' + text : text);
    assumed_->show();
}

void HandCardView::showNothing(const QString& text)
{
    card_.clear();
    ask({});
    when_->clear();
    what_->setText(unitsKept(text));
    for (QWidget* widget :
         std::initializer_list<QWidget*>{plate_, otherwise_, assumed_, countdown_, countdownMore_})
        widget->hide();
    when_->hide();
}

} // namespace stripwright
