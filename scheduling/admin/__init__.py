from scheduling.admin import forecasts, plans, weather, weather_files

__all__ = ["forecasts", "plans", "weather", "weather_files"]
