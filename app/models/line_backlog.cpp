#include "models/line_backlog.h"

namespace stripwright {

void LineBacklog::add(const QByteArray& bytes)
{
    // Moved to the front only when more has been read than waits.
    if (from_ > held_.size() / 2) {
        held_ = held_.mid(from_);
        searched_ -= from_;
        if (end_ >= 0)
            end_ -= from_;
        from_ = 0;
    }
    held_ += bytes;
}

bool LineBacklog::wholeLine()
{
    if (end_ < 0) {
        end_ = held_.indexOf('\n', searched_);
        searched_ = end_ < 0 ? held_.size() : end_;
    }
    return end_ >= 0;
}

std::optional<QByteArray> LineBacklog::next()
{
    if (!wholeLine())
        return {};
    QByteArray line = held_.mid(from_, end_ - from_);
    from_ = searched_ = end_ + 1;
    end_ = -1;
    return line;
}

void LineBacklog::clear()
{
    *this = {};
}

} // namespace stripwright
