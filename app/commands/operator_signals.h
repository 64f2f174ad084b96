#pragma once

#include "models/operator_signals.h"
