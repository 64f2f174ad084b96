#pragma once

#include <QByteArray>

#include <optional>

namespace stripwright {

/// What came from a stream and is still to be read, line by line. Its time goes with the bytes, however many
/// wait and however long a line is.
class LineBacklog {
public:
    void add(const QByteArray& bytes);
    std::optional<QByteArray> next(); ///< The oldest whole line, without its end.
    qsizetype bytes() const { return held_.size() - from_; }
    bool wholeLine(); ///< next() would give one.
    void clear();

private:
    QByteArray held_;
    qsizetype from_ = 0, searched_ = 0, end_ = -1;
};

} // namespace stripwright
