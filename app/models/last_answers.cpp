#include "models/last_answers.h"

namespace stripwright {

LastAnswers::LastAnswers(std::function<std::vector<HeatAnswer>(const BenchSheet&)> find)
    : find_(std::move(find))
{
}

std::vector<HeatAnswer> LastAnswers::of(const BenchSheet& sheet)
{
    {
        const std::scoped_lock hold(mutex_);
        if (sheet_ == sheet)
            return answers_;
    }
    std::vector<HeatAnswer> found = find_(sheet);
    const std::scoped_lock hold(mutex_);
    sheet_ = sheet;
    answers_ = found;
    return found;
}

std::vector<HeatAnswer> answersOf(const BenchSheet& sheet)
{
    return hasHeatsToAnswer(sheet) ? answerJob(sheet) : std::vector<HeatAnswer>();
}

} // namespace stripwright
