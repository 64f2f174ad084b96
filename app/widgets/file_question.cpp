#include "widgets/file_question.h"

#include "widgets/message_line.h"

#include <QFileInfo>
#include <QGridLayout>

namespace stripwright {

FileQuestion::FileQuestion(QWidget* parent, const QString& title, const QString& startAt,
                           const QString& filter, For purpose, const QString& own)
    : QFileDialog(parent, title, QFileInfo(startAt).isDir() ? startAt : QFileInfo(startAt).path(), filter),
      own_(own), message_(new MessageLine)
{
    setObjectName("fileQuestion");
    setAttribute(Qt::WA_DeleteOnClose);
    setModal(false);
    // The dialog's own questions (write over? delete?) would be modal.
    setOptions(DontUseNativeDialog | DontConfirmOverwrite | ReadOnly);
    setAcceptMode(purpose == For::Saving ? AcceptSave : AcceptOpen);
    setFileMode(purpose == For::Saving ? AnyFile : ExistingFile);
    if (!startAt.isEmpty() && !QFileInfo(startAt).isDir())
        selectFile(QFileInfo(startAt).fileName());
    message_->setObjectName("fileMessage");
    if (auto* grid = qobject_cast<QGridLayout*>(layout()))
        grid->addWidget(message_, grid->rowCount(), 0, 1, -1);
}

void FileQuestion::accept()
{
    const QStringList files = selectedFiles();
    const QFileInfo file(files.value(0));
    if (files.isEmpty() || file.isDir()) {
        QFileDialog::accept(); // goes into the folder
        return;
    }
    if (acceptMode() == AcceptOpen && !file.exists()) {
        message_->say(tr("There is no file %1 here.").arg(file.fileName()));
        return;
    }
    const QString path = file.absoluteFilePath();
    const bool own = !own_.isEmpty() && path == QFileInfo(own_).absoluteFilePath();
    // A key that is held down comes again and again, the first time after half a second or more.
    const bool again = warnedOf_ == path && lastTry_.hasExpired(1000);
    lastTry_.start();
    if (acceptMode() == AcceptSave && file.exists() && !own && !again) {
        warnedOf_ = path;
        message_->say(
            tr("%1 exists. Save once more to write over it, or choose another name.").arg(file.fileName()));
        return;
    }
    QFileDialog::accept();
}

} // namespace stripwright
