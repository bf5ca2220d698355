"""RENDER: finished words become an SMS, an e-mail or the data of a printed leaflet."""
