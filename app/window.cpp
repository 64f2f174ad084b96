#include "app/window.h"

#include "app/main_window.h"
#include "app/screenshots.h"
#include "widgets/look.h"

#include <QApplication>
#include <QScreen>

namespace stripwright {

int showWindow(int argc, char** argv, const WindowOptions& options)
{
    std::vector<std::filesystem::path> folders = options.shelfFolders;
    if (!options.userShelfFolder.empty())
        folders.push_back(options.userShelfFolder);
    Shelf shelf = readShelf(folders);

    QApplication application(argc, argv);
    QApplication::setApplicationName("stripwright");
    QApplication::setApplicationDisplayName("Stripwright");
    useTheme(options.dark ? (*options.dark ? Theme::Dark : Theme::Light) : desktopTheme());
    MainWindow window(std::move(shelf), options);
    const QSize frame(0, 40); // Stop heating stands in the lower corner: no frame may push it off the screen
    window.resize(QSize(options.width, options.height).boundedTo(window.screen()->availableSize() - frame));
    window.show();
    if (!options.screenshotsFolder.empty())
        new Screenshots(window, options.screenshotsFolder, options.speed);
    return QApplication::exec();
}

} // namespace stripwright
