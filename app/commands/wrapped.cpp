#include "commands/wrapped.h"

#include <QRegularExpression>
#include <QString>
#include <QStringList>

#include <algorithm>
#include <iostream>
#include <sys/ioctl.h>
#include <unistd.h>

namespace stripwright {

// Stands for a space at which no line may be broken, on the way to wrapped(): no path has it.
static constexpr char heldSpace = '\x1F';

std::string inOnePiece(std::string path)
{
    std::ranges::replace(path, ' ', heldSpace);
    return path;
}

// "12 mm": no line begins with a unit.
static QStringList wordsOf(const QString& text)
{
    static const QRegularExpression figure(QStringLiteral("[0-9)]$")),
        unit(QStringLiteral("^(°C|K|s|K/s|mm|µm|min|W|%)[.,;:)]*$"));
    QStringList words;
    for (const QString& word : text.split(' ', Qt::SkipEmptyParts))
        if (!words.isEmpty() && word.contains(unit) && words.last().contains(figure))
            words.last() += ' ' + word;
        else
            words.append(word);
    return words;
}

int columnsOf(int descriptor)
{
    winsize size{};
    if (!isatty(descriptor) || ioctl(descriptor, TIOCGWINSZ, &size) != 0)
        return narrowColumns;
    return std::max<int>(narrowColumns, size.ws_col);
}

int columnsOf(const std::ostream& out)
{
    return &out == &std::cout   ? columnsOf(STDOUT_FILENO)
           : &out == &std::cerr ? columnsOf(STDERR_FILENO)
                                : narrowColumns;
}

std::string wrapped(const std::string& lead, const std::string& text, int columns)
{
    const QString first = QString::fromStdString(lead), indent(first.size(), ' ');
    QStringList lines;
    for (const QString& paragraph : QString::fromStdString(text).split('\n')) {
        QString line = lines.isEmpty() ? first : indent;
        bool bare = true;
        for (const QString& word : wordsOf(paragraph)) {
            if (!bare && line.size() + 1 + word.size() > columns) {
                lines.append(line);
                line = indent;
                bare = true;
            }
            line += (bare ? QString() : QStringLiteral(" ")) + word;
            bare = false;
        }
        lines.append(line);
    }
    return lines.join('\n').replace(heldSpace, ' ').toStdString();
}

void printWrapped(std::ostream& out, const std::string& lead, const std::string& text)
{
    out << wrapped(lead, text, columnsOf(out)) << '\n';
}

} // namespace stripwright
