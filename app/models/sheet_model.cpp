#include "models/sheet_model.h"

#include "materials/json_fields.h"

#include <QFile>
#include <QRegularExpression>
#include <QSaveFile>

#include <algorithm>
#include <set>

namespace stripwright {

SheetModel::SheetModel(Shelf shelf, QObject* parent) : QObject(parent), sheet_(emptySheet(shelf))
{
    takeShelf(std::move(shelf));
}

void SheetModel::takeShelf(Shelf shelf)
{
    shelves_.push_back(std::make_unique<const Shelf>(std::move(shelf)));
    shelf_ = shelves_.back().get();
    emit shelfChanged();
}

void SheetModel::setSheet(BenchSheet sheet)
{
    sheet_ = std::move(sheet);
    emit changed();
}

QStringList SheetModel::open(const QString& file)
{
    try {
        const std::string name = file.toStdString();
        sheet_ = readBenchSheet(readTextFile(name), name, shelf());
    } catch (const BadInput& bad) {
        QStringList problems;
        for (const Problem& problem : bad.problems())
            problems += QString::fromStdString(problem.text());
        return problems;
    } catch (const std::exception& error) {
        return {QString::fromUtf8(error.what())};
    }
    file_ = file;
    emit fileChanged();
    emit opened();
    emit changed();
    return {};
}

QString SheetModel::save(const QString& file)
{
    const QByteArray text = QByteArray::fromStdString(toJsonById(sheet_, shelf()).dump(2)) + '\n';
    QSaveFile out(file);
    if (!out.open(QIODevice::WriteOnly) || out.write(text) != text.size() || !out.commit())
        return tr("Cannot write %1: %2. Nothing was changed there; save to another folder.")
            .arg(file, out.errorString());
    file_ = file;
    emit fileChanged();
    return {};
}

BenchSheet emptySheet(const Shelf& shelf)
{
    BenchSheet sheet;
    sheet.title = "New bench sheet";
    sheet.paste = shelf.pastes.at(0);
    sheet.plate = shelf.plates.at(0);
    sheet.contact = shelf.contacts.at(0);
    sheet.air.ambientC = 23;
    sheet = onStrip(std::move(sheet), shelf.strips.at(0));
    return withPlateAt(sheet, (sheet.strip.lengthMm - sheet.plate.lengthMm) / 2);
}

BenchSheet onStrip(BenchSheet sheet, const StripType& strip)
{
    sheet.strip = strip;
    sheet.air = stillAir(strip.widthMm, sheet.air.ambientC);
    std::vector<SiteOnBench> sites(strip.siteXMm.size());
    for (size_t i = 0; i < sites.size(); ++i) {
        if (i < sheet.sites.size())
            sites[i] = sheet.sites[i];
        sites[i].site = int(i) + 1;
        if (!strip.lens)
            sites[i].lens = LensState::On;
    }
    sheet.sites = std::move(sites);
    std::erase_if(sheet.sinkBlocks, [&](const PlacedSinkBlock& placed) {
        return placed.startMm + placed.block.lengthMm > strip.lengthMm;
    });
    const double startMm = sheet.plateStartMm;
    return withPlateAt(std::move(sheet), startMm);
}

BenchSheet onPlate(BenchSheet sheet, const PlateType& plate)
{
    const double middleMm = (sheet.plateStartMm + sheet.plateEndMm()) / 2;
    sheet.plate = plate;
    return withPlateAt(std::move(sheet), middleMm - plate.lengthMm / 2);
}

BenchSheet withReplace(BenchSheet sheet, const std::vector<int>& sites, bool replace)
{
    for (int site : sites)
        sheet.sites.at(size_t(site) - 1).state = replace ? SiteState::Replace : SiteState::Good;
    return sheet;
}

BenchSheet withLens(BenchSheet sheet, const std::vector<int>& sites, LensState lens)
{
    for (int site : sites)
        sheet.sites.at(size_t(site) - 1).lens = lens;
    return sheet;
}

LensState nextLensState(const BenchSheet& sheet, int site)
{
    switch (sheet.sites.at(size_t(site) - 1).lens) {
    case LensState::On:
        return sheet.heat == HeatKind::Release ? LensState::Release : LensState::Off;
    case LensState::Release: // counts as off where nothing is released
        return sheet.heat == HeatKind::Release ? LensState::Off : LensState::On;
    case LensState::Off:
        break;
    }
    return LensState::On;
}

BenchSheet withPlateAt(BenchSheet sheet, double startMm)
{
    constexpr double leastOverlapMm = 10;
    const double first = leastOverlapMm - sheet.plate.lengthMm;
    sheet.movePlateTo(std::clamp(startMm, first, std::max(first, sheet.strip.lengthMm - leastOverlapMm)));
    return sheet;
}

std::optional<std::vector<int>> readSites(const QString& text, int siteCount, QString& why)
{
    std::set<int> sites;
    QString plain = text;
    plain.replace(QChar(0x2013), '-');
    const QStringList parts = plain.split(QRegularExpression(QStringLiteral("[,; ]+")), Qt::SkipEmptyParts);
    for (const QString& part : parts) {
        const QStringList ends = part.split('-');
        bool firstOk = false, lastOk = false;
        const int first = ends.first().toInt(&firstOk), last = ends.last().toInt(&lastOk);
        if (ends.size() > 2 || !firstOk || !lastOk) {
            why = QObject::tr("Cannot read “%1”: write site numbers and ranges, such as 6, 8-9.").arg(part);
            return {};
        }
        if (first < 1 || last > siteCount || first > last) {
            why = QObject::tr("“%1” is not on this strip: its sites are 1 to %2.").arg(part).arg(siteCount);
            return {};
        }
        for (int site = first; site <= last; ++site)
            sites.insert(site);
    }
    return std::vector<int>(sites.begin(), sites.end());
}

QString sitesText(const std::vector<int>& sites)
{
    QStringList parts;
    for (size_t i = 0; i < sites.size();) {
        size_t end = i;
        while (end + 1 < sites.size() && sites[end + 1] == sites[end] + 1)
            ++end;
        parts += end == i ? QString::number(sites[i]) : QStringLiteral("%1-%2").arg(sites[i]).arg(sites[end]);
        i = end + 1;
    }
    return parts.join(QStringLiteral(", "));
}

} // namespace stripwright
