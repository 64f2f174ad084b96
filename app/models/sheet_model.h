#pragma once

#include "materials/bench_sheet.h"

#include <QObject>
#include <QString>

#include <atomic>
#include <memory>

namespace stripwright {

/// The bench sheet being worked on, and the file it came from. Always holds a whole, valid sheet.
class SheetModel : public QObject {
    Q_OBJECT
public:
    explicit SheetModel(Shelf shelf, QObject* parent = nullptr);

    /// From any thread; what it names stays as it is for as long as this lives, whatever comes later.
    const Shelf& shelf() const { return *shelf_; }
    void takeShelf(Shelf shelf); ///< From now on; the sheet stays as it is.
    const BenchSheet& sheet() const { return sheet_; }
    void setSheet(BenchSheet sheet);
    const QString& file() const { return file_; } ///< Empty: never saved.

    /// Empty if read; otherwise every problem of the file, one a line, and the sheet stays as it was.
    QStringList open(const QString& file);
    /// Empty if written; otherwise what went wrong, and the old file stands. Entries the shelf holds go by
    /// id.
    QString save(const QString& file);

signals:
    void changed();
    void opened(); ///< Another document: what was undone before does not apply to it.
    void fileChanged();
    void shelfChanged();

private:
    std::vector<std::unique_ptr<const Shelf>> shelves_; // other threads may look at an earlier one
    std::atomic<const Shelf*> shelf_ = nullptr;
    BenchSheet sheet_;
    QString file_;
};

/// A sheet to begin with: first entry of each kind, nothing marked, plate under the middle. The shelf must
/// hold a paste, a strip type, a plate and a contact condition.
BenchSheet emptySheet(const Shelf& shelf);

/// The same job on another strip type: marks of sites that exist there stay, air and plate are fitted to it.
BenchSheet onStrip(BenchSheet sheet, const StripType& strip);

/// Another plate, its middle where the old one's was.
BenchSheet onPlate(BenchSheet sheet, const PlateType& plate);

BenchSheet withReplace(BenchSheet sheet, const std::vector<int>& sites, bool replace);
BenchSheet withLens(BenchSheet sheet, const std::vector<int>& sites, LensState lens);

/// Next of on, off and, in a heat that releases lenses, release.
LensState nextLensState(const BenchSheet& sheet, int site);

/// Plate edge at the connector end, kept so that plate and strip overlap by at least 10 mm.
BenchSheet withPlateAt(BenchSheet sheet, double startMm);

/// "6, 8-9" as site numbers, rising. Nothing if it cannot be read; `why` then says what and what would do.
std::optional<std::vector<int>> readSites(const QString& text, int siteCount, QString& why);
QString sitesText(const std::vector<int>& sites); ///< "6, 8-9".

} // namespace stripwright
