#include "models/line_backlog.h"

#include <QByteArrayList>
#include <gtest/gtest.h>

namespace stripwright {

TEST(LineBacklog, GivesTheSameLinesHoweverTheBytesCome)
{
    const QByteArray bytes = "one\n\ntwo and more\nthree\nrest";
    for (qsizetype piece = 1; piece <= bytes.size(); ++piece) {
        LineBacklog backlog;
        QByteArrayList lines;
        for (qsizetype at = 0; at < bytes.size(); at += piece) {
            backlog.add(bytes.mid(at, piece));
            if (at % 2) // now and then some wait
                while (const auto line = backlog.next())
                    lines += *line;
        }
        while (const auto line = backlog.next())
            lines += *line;
        EXPECT_EQ(lines, (QByteArrayList{"one", "", "two and more", "three"})) << piece;
        EXPECT_FALSE(backlog.wholeLine());
        EXPECT_EQ(backlog.bytes(), 4);
    }
}

} // namespace stripwright
